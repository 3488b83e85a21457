/**
 * Every text that people read, as it stands in the sources: `npm run texts` lists them, and what each language lacks.
 * `npm run texts -- --write` brings the translators' files up to date: new texts stand in them untranslated, those that are
 * gone are taken out.
 */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { po } from 'gettext-parser';
import { parseAst } from 'rolldown/parseAst';
import { z } from 'zod';
import { inspectPack, packFolder } from '../../knowledge/load.ts';
import { readPack } from '../../knowledge/read-pack.ts';
import { englishOf, textsToTranslate } from '../../knowledge/translation.ts';
import {
  catalogue,
  catalogueFile,
  pluralCategories,
  readCatalogue,
} from '../../shared/language/catalogue.ts';
import { type Language, languages } from '../../shared/language/locale.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folders = ['commands', 'shared', 'src'];

export interface Found {
  /** The English text; of a counted one, its form for one. */
  text: string;
  /** Its form for many, where it is counted. */
  many?: string;
  /** What is put in, as the sources have it: for translators. */
  parts: string[];
  files: string[];
}

/** A text that the sources hide from the catalogues. */
export interface Hidden {
  file: string;
  text: string;
}

/** As much of the syntax tree as is looked at. */
const nodeSchema = z.looseObject({ type: z.string(), start: z.number(), end: z.number() });
type Node = z.infer<typeof nodeSchema>;
const nodeOf = (value: unknown): Node | null => nodeSchema.safeParse(value).data ?? null;
const nodesOf = (value: unknown): Node[] =>
  (Array.isArray(value) ? value : [value]).flatMap((one) => nodeOf(one) ?? []);

const literalOf = (value: unknown): string | null => {
  const node = nodeOf(value);
  return node?.type === 'Literal' && typeof node.value === 'string' ? node.value : null;
};
const nameOf = (value: unknown): string => {
  const node = nodeOf(value);
  return typeof node?.name === 'string' ? node.name : '';
};
const quasiSchema = z.looseObject({ value: z.looseObject({ cooked: z.string() }) });
const quasisOf = (value: unknown): string[] =>
  z
    .array(quasiSchema)
    .parse(nodeOf(value)?.quasis)
    .map((one) => one.value.cooked);
const idOf = (quasis: readonly string[]): string =>
  quasis.map((one, index) => (index ? `{${index - 1}}${one}` : one)).join('');

/** Two letters in a row that are no command, option or code to be typed. */
const isProse = (text: string): boolean =>
  /\p{L}{2}/u.test(text.replace(/\/[a-z]+( [a-z]+)?|[a-z-]+:\S*|"[^"]*"/g, ''));

/** Files that make messages. */
const makers: ReadonlySet<string> = new Set(['shared/language/say.ts', 'shared/language/message.ts']);
/** A text that is put together, with words of the sources in it. */
function isBuilt(node: Node): boolean {
  if (node.type === 'TemplateLiteral') return quasisOf(node).some(isProse);
  if (node.type !== 'BinaryExpression') return false;
  return [node.left, node.right].some((side) => {
    const inner = nodeOf(side);
    const text = literalOf(side);
    return (text !== null && isProse(text)) || (inner !== null && isBuilt(inner));
  });
}

export function textsIn(
  file: string,
  source = readFileSync(join(root, file), 'utf8'),
): { found: Found[]; hidden: Hidden[] } {
  const found: Found[] = [];
  const hidden: Hidden[] = [];
  const written = (value: unknown): string[] =>
    nodesOf(value).map(({ start, end }) => source.slice(start, end).replace(/\s+/g, ' '));
  const visit = (node: Node): void => {
    if (node.type === 'TaggedTemplateExpression') {
      const quasis = quasisOf(node.quasi);
      if (nameOf(node.tag) === 'say')
        found.push({ text: idOf(quasis), parts: written(nodeOf(node.quasi)?.expressions), files: [file] });
      if (nameOf(node.tag) === 'plain' && quasis.some(isProse)) hidden.push({ file, text: idOf(quasis) });
    }
    // A message is made by `say` and its like alone: what is built by hand is in no catalogue.
    if (node.type === 'NewExpression' && nameOf(node.callee) === 'Message' && !makers.has(file))
      hidden.push({ file, text: written(node).join() });
    if (node.type === 'CallExpression') {
      // What is put together before it is looked up is never found; people's own words are not put together at all.
      const [only] = nodesOf(node.arguments);
      if (['packText', 'verbatim'].includes(nameOf(node.callee)) && only && isBuilt(only))
        hidden.push({ file, text: written(node).join() });
      if (nameOf(node.callee) === 'typed' && only?.type === 'BinaryExpression' && isBuilt(only))
        hidden.push({ file, text: written(node).join() });
      const [first, one, many] = nodesOf(node.arguments);
      if (nameOf(node.callee) === 'counted') {
        const [single, plural] = [literalOf(one), literalOf(many)];
        if (single === null || plural === null) hidden.push({ file, text: written(node).join() });
        else {
          const parts = written(node.arguments);
          found.push({
            text: single,
            many: plural,
            parts: [parts[0] ?? '', ...parts.slice(3)],
            files: [file],
          });
        }
      }
      if (nameOf(node.callee) === 'typed' && first) {
        const text = first.type === 'TemplateLiteral' ? idOf(quasisOf(first)) : literalOf(first);
        if (text !== null && /\p{L} \p{Ll}/u.test(text) && isProse(text)) hidden.push({ file, text });
      }
    }
    for (const value of Object.values(node)) for (const inner of nodesOf(value)) visit(inner);
  };
  for (const statement of parseAst(source, { lang: 'ts' }).body)
    for (const node of nodesOf(statement)) visit(node);
  return { found, hidden };
}

/** Each text once, in the order of the sources; and what stands there as if it were none. */
export function textsOfSources(): { texts: Found[]; hidden: Hidden[] } {
  const files = folders.flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts') && !name.startsWith('language'))
      .map((name) => `${folder}/${name}`)
      .sort(),
  );
  const texts = new Map<string, Found>();
  const hidden: Hidden[] = [];
  for (const file of files) {
    const here = textsIn(file);
    hidden.push(...here.hidden);
    for (const one of here.found) {
      const known = texts.get(one.text);
      if (known && known.many !== one.many) hidden.push({ file, text: `two texts for many: ${one.text}` });
      if (!known) texts.set(one.text, one);
      else if (!known.files.includes(file)) known.files.push(file);
    }
  }
  return { texts: [...texts.values()], hidden };
}

/** Functions of the commands that refuse, and are given the problem as a text. */
const refusing: ReadonlySet<string> = new Set(['refuse', 'refuseWord', 'refuseValue']);
const isText = ({ type }: Node): boolean =>
  type === 'TaggedTemplateExpression' || type === 'ConditionalExpression';

/** What stands in the sources of commands as the problem of a refusal: the English text of each. */
export function refusalTexts(): string[] {
  const found = new Set<string>();
  const texts = (node: Node): void => {
    if (node.type === 'TaggedTemplateExpression' && nameOf(node.tag) === 'say')
      found.add(idOf(quasisOf(node.quasi)));
    const [, single] =
      node.type === 'CallExpression' && nameOf(node.callee) === 'counted' ? nodesOf(node.arguments) : [];
    const text = single && literalOf(single);
    if (text) found.add(text);
    for (const value of Object.values(node)) for (const inner of nodesOf(value)) texts(inner);
  };
  const visit = (node: Node): void => {
    if (node.type === 'Property' && nameOf(node.key) === 'problem') texts({ ...node, key: null });
    if (node.type === 'CallExpression' && refusing.has(nameOf(node.callee)))
      for (const one of nodesOf(node.arguments).filter(isText).slice(0, 1)) texts(one);
    for (const value of Object.values(node)) for (const inner of nodesOf(value)) visit(inner);
  };
  for (const name of readdirSync(join(root, 'commands'), { recursive: true, encoding: 'utf8' }))
    if (name.endsWith('.ts'))
      for (const statement of parseAst(readFileSync(join(root, 'commands', name), 'utf8'), { lang: 'ts' })
        .body)
        for (const node of nodesOf(statement)) visit(node);
  return [...found];
}

/** How a language says a text: one wording, or its forms by number. */
export const wordingsOf = (language: Exclude<Language, 'en'>, text: string): readonly string[] =>
  catalogue(language).get(text) ?? [];

/** Texts of the pack that comes with the bot and where they stand, and those that a language lacks. */
export function textsOfPack(): { texts: Map<string, string>; lacks: (language: string) => string[] } {
  const { entries, regions } = readPack([packFolder], null);
  const texts = textsToTranslate(englishOf(entries), regions.dispose);
  const { translations } = inspectPack([packFolder], null).knowledge;
  return {
    texts,
    lacks: (language) => {
      const known = translations.get(language)?.texts;
      return [...texts.keys()].filter((one) => !known?.has(one));
    },
  };
}

export interface State {
  language: string;
  /** Texts that the catalogue lacks, or has marked as not sure. */
  lacks: Found[];
  /** Texts that no source has any more. */
  stale: string[];
  /** Texts whose translation puts in other things than the English, or has too few forms. */
  wrong: string[];
}

const holes = (text: string): string => [...new Set(text.match(/\{\d\}/g))].sort().join('');

/** How a translators' file stands to the texts of the sources. */
export function stateOf(language: string, file: string, texts: readonly Found[]): State {
  const { headers, entries } = readCatalogue(file);
  const keys = new Map(texts.map((one) => [one.text, one]));
  const categories = pluralCategories(new Intl.PluralRules(language));
  const lacking = new Set(texts.map(({ text }) => text));
  const wrong: string[] = [];
  if (!new RegExp(`nplurals=${categories.length};`).test(headers['Plural-Forms'] ?? ''))
    wrong.push(`Plural-Forms: not the ${categories.length} of the language`);
  for (const { msgid, msgid_plural, msgstr, comments } of entries) {
    const done = msgstr.every((form) => form !== '') && !/fuzzy/.test(comments?.flag ?? '');
    if (!done) continue;
    lacking.delete(msgid);
    const most = holes(`${msgid} ${msgid_plural ?? ''}`);
    const fits =
      msgid_plural === undefined
        ? msgstr.length === 1 && holes(msgstr[0] ?? '') === most
        : msgstr.length === categories.length &&
          // A form for one thing may say it without the number.
          msgstr.every((form) => [most, most.replace('{0}', '')].includes(holes(form)));
    if (!fits || keys.get(msgid)?.many !== msgid_plural) wrong.push(msgid);
  }
  return {
    language,
    lacks: texts.filter(({ text }) => lacking.has(text)),
    stale: entries.map(({ msgid }) => msgid).filter((msgid) => !keys.has(msgid)),
    wrong,
  };
}

/** The file with just the texts of the sources: what was translated stays, new ones are empty. */
export function broughtUp(language: string, file: string, texts: readonly Found[]): string {
  const { headers, entries } = readCatalogue(file);
  const known = new Map(entries.map((entry) => [entry.msgid, entry]));
  const forms = pluralCategories(new Intl.PluralRules(language)).length;
  const translations = texts.map(({ text, many, parts, files }) => {
    const before = known.get(text);
    const empty = many === undefined ? [''] : Array.from({ length: forms }, () => '');
    const kept = before?.msgid_plural === many ? before?.msgstr : undefined;
    const flags = [
      ...(parts.length ? ['python-brace-format'] : []),
      ...(/fuzzy/.test(before?.comments?.flag ?? '') ? ['fuzzy'] : []),
    ];
    return {
      msgid: text,
      ...(many === undefined ? {} : { msgid_plural: many }),
      msgstr: kept ?? empty,
      comments: {
        ...(parts.length ? { extracted: parts.map((part, index) => `{${index}}: ${part}`).join('\n') } : {}),
        reference: files.join('\n'),
        ...(flags.length ? { flag: flags.join(', ') } : {}),
      },
    };
  });
  const made = po.compile(
    {
      charset: 'utf-8',
      headers: { ...headers },
      translations: { '': Object.fromEntries(translations.map((one) => [one.msgid, one])) },
    },
    { foldLength: 0 },
  );
  return `${made.toString('utf8').trimEnd()}\n`;
}

export const translated = languages.filter((one): one is Exclude<Language, 'en'> => one !== 'en');
export const fileOf = (language: Exclude<Language, 'en'>): string =>
  readFileSync(catalogueFile(language), 'utf8');

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const { texts, hidden } = textsOfSources();
  if (process.argv.includes('--write')) {
    for (const one of translated) writeFileSync(catalogueFile(one), broughtUp(one, fileOf(one), texts));
  }
  const states = translated.map((one) => stateOf(one, fileOf(one), texts));
  if (process.argv.includes('--json'))
    process.stdout.write(`${JSON.stringify({ texts, hidden, states }, null, 2)}\n`);
  else {
    const pack = textsOfPack();
    process.stdout.write(`${texts.length} texts of the program, ${pack.texts.size} of the pack\n`);
    for (const { file, text } of hidden) process.stdout.write(`hidden ${file}: ${JSON.stringify(text)}\n`);
    for (const { language, lacks, stale, wrong } of states) {
      process.stdout.write(
        `${language}: lacks ${lacks.length}, stale ${stale.length}, wrong ${wrong.length}\n`,
      );
      for (const { text, files } of lacks)
        process.stdout.write(`  lacks ${files[0] ?? ''}: ${JSON.stringify(text)}\n`);
      const lacking = pack.lacks(language);
      process.stdout.write(`${language}, pack: lacks ${lacking.length}\n`);
      for (const text of lacking)
        process.stdout.write(`  lacks ${pack.texts.get(text) ?? ''}: ${JSON.stringify(text)}\n`);
      for (const key of stale) process.stdout.write(`  stale: ${JSON.stringify(key)}\n`);
      for (const key of wrong) process.stdout.write(`  wrong: ${JSON.stringify(key)}\n`);
    }
  }
}
