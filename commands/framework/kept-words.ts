/** What people write in their own words is looked through before anything reads it: secrets are refused, IMEIs masked. */
import { LRUCache } from 'lru-cache';
import type { SecretKind, SecretWords } from '../../knowledge/secrets.ts';
import { maskImeis } from '../../shared/imei/mask-imeis.ts';
import { joined, say } from '../../shared/language/say.ts';
import { findSecret, secretWords } from '../../shared/notes/secrets.ts';
import type { Context } from './context.ts';
import type { Option, OptionsShape } from './option.ts';
import { Refusal } from './refusal.ts';

/** Whether an option takes words, or a file with words in it, that may be kept. */
export const takesWords = ({ wire, free = false }: Option): boolean =>
  free || (wire.type === 'file' && !wire.photo) || (wire.type === 'lookup' && wire.words === true);

function refuseSecret(kind: SecretKind, option: string, direct: boolean, line?: number): never {
  const instead =
    kind === 'card'
      ? say`the words without it: a payment is kept in your books, by the last four digits.`
      : say`the words without it: the owner unlocks the phone, or takes the lock off.`;
  throw new Refusal({
    code: 'secret',
    option,
    problem:
      line === undefined
        ? say`That looks as if it had ${secretWords[kind]} in it. Those are never kept.`
        : say`Line ${line} looks as if it had ${secretWords[kind]} in it. Those are never kept.`,
    expected: joined([
      instead,
      ...(direct ? [] : [say`Take your message back, so that nobody reads it here.`]),
      say`If it is something else, say it in other words`,
    ]),
    ...(line === undefined ? {} : { lines: [{ line }] }),
  });
}

/** The name that somebody goes by on a platform, as it may be kept: one that holds a secret is cut off. */
export function nameToKeep(name: string, secrets: SecretWords): string {
  let kept = namesBySecretWords.get(secrets);
  if (!kept) {
    kept = new LRUCache({ max: 1000 });
    namesBySecretWords.set(secrets, kept);
  }
  const before = kept.get(name);
  if (before !== undefined) return before;
  const made = findSecret(name, secrets) ? `${[...name][0] ?? ''}…` : maskImeis(name, secrets);
  kept.set(name, made);
  return made;
}

/** A name comes with every request, and seldom changes. */
const namesBySecretWords = new WeakMap<SecretWords, LRUCache<string, string>>();

/** Cells are looked through one by one: numbers of several are not one number. */
const CELLS = /([,;\t\r\n])/;

/** The options' texts as they may be kept. Throws Refusal `secret`, which names the option and does not repeat what was said. */
export function wordsToKeep(
  options: OptionsShape,
  texts: Readonly<Record<string, string>>,
  { knowledge: { secrets }, direct }: Context,
): Readonly<Record<string, string>> {
  const kept: Record<string, string> = { ...texts };
  for (const [name, option] of Object.entries(options)) {
    const text = texts[name];
    if (text === undefined || !takesWords(option)) continue;
    const isFile = option.wire.type === 'file';
    const parts = isFile ? text.split(CELLS) : [text];
    let line = 1;
    for (const part of parts) {
      if (part === '\n') line += 1;
      const kind = findSecret(part, secrets);
      if (kind !== null) refuseSecret(kind, name, direct, isFile ? line : undefined);
    }
    kept[name] = parts.map((part) => maskImeis(part, secrets)).join('');
  }
  return kept;
}
