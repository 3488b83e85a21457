/**
 * How many secrets are missed, and how many innocent notes are taken for one: `node src/launch.cjs tests/bench/secrets.ts [--list]`. The
 * attempts stand in tests/notes/: `held-out.tsv` was written before the recogniser and not used while it was made,
 * `developing.tsv` was. `--list` names what went wrong.
 */
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { loadKnowledge } from '../../knowledge/load.ts';
import { maskImeis } from '../../shared/imei/mask-imeis.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import { secretAttempts } from '../notes/attempts.ts';

const { values } = parseArgs({ options: { list: { type: 'boolean' } } });
const { secrets } = loadKnowledge();
const rate = (wrong: number, all: number): string =>
  `${wrong} of ${all} (${((100 * wrong) / Math.max(1, all)).toFixed(1)} %)`;

for (const half of ['held-out', 'developing'] as const) {
  const attempts = secretAttempts(half);
  for (const where of ['English and German', 'eight others'] as const) {
    const here = attempts.filter(
      ({ language }) => /^(en|de)$/.test(language) === (where === 'English and German'),
    );
    const wrong = (isSecret: boolean) =>
      here.filter(
        (one) => one.isSecret === isSecret && (findSecret(one.text, secrets) !== null) !== isSecret,
      );
    const all = (isSecret: boolean) => here.filter((one) => one.isSecret === isSecret).length;
    console.log(
      `${half}, ${where}: missed ${rate(wrong(true).length, all(true))}, false alarms ${rate(wrong(false).length, all(false))}`,
    );
    if (values.list)
      for (const { language, isSecret, text } of [...wrong(true), ...wrong(false)])
        console.log(`  ${isSecret ? 'missed' : 'false alarm'} ${language}: ${text}`);
  }
  const lines = readFileSync(new URL(`../notes/imeis.${half}.tsv`, import.meta.url), 'utf8')
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => line.split('\t'));
  const wrongly = lines.filter(([kind, text = '', last = '']) => {
    const masked = maskImeis(text, secrets);
    return kind === 'imei'
      ? !masked.includes(`••${last}`) || masked.replace(/\D/g, '').length > 5
      : masked !== text;
  });
  const counted = (kind: string) =>
    rate(wrongly.filter(([own]) => own === kind).length, lines.filter(([own]) => own === kind).length);
  console.log(`${half}, IMEIs: not masked ${counted('imei')}, others masked ${counted('innocent')}`);
  if (values.list)
    for (const [kind = '', text = ''] of wrongly)
      console.log(`  ${kind}: ${text} -> ${maskImeis(text, secrets)}`);
}
