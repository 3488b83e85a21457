import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { inspectPack, loadKnowledge } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import type { Service } from '../../knowledge/schema.ts';
import { statementParts } from '../../knowledge/translation.ts';
import { render, renderAll } from '../../shared/language/render.ts';
import { packText } from '../../shared/language/say.ts';
import { cardOf, emergencyNumber, fullCaution, LOCAL_CODES } from '../../shared/safety/cautions.ts';
import { knowledge } from '../test-bot.ts';
import { packIn, smallPack } from './small-pack.ts';

const german: Readonly<Record<string, string>> = {
  cautions: `- id: heat
  name: Heizplatte
  alias: [Wärmeplatte]
  lead: Niedrig und langsam erwärmen.
  short: Erwärmen; aufhören bei Geruch.
  do: [Örtliche Vorschriften und zugelassene Fachleute gehen vor.]
  dont: [Die Zelle nicht erwärmen.]
  stopWhen: [Es riecht.]
  getHelp: ['{fire} anrufen.']
  dispose: ['{dispose}']
`,
  regions: `dispose:
  other: Nie in den Müll.
`,
};

/** A folder with a pack and the German of it. */
function packWith(files: Readonly<Record<string, string>>, pack = smallPack): string {
  const folder = packIn(pack);
  mkdirSync(join(folder, 'de'));
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, 'de', `${name}.yaml`), text);
  return folder;
}
const problemsOf = (...folders: string[]): string[] =>
  locate(inspectPack(folders, null).findings).map(
    ({ file, line, problem }) => `${file.split('/').slice(-2).join('/')}:${line} ${problem}`,
  );
const broken = (file: string, passage: string, by: string): string => {
  if (!german[file]?.includes(passage)) throw new Error(`${file} has no ${passage}`);
  return packWith({ ...german, [file]: german[file].replace(passage, () => by) });
};

describe('the languages of a pack', () => {
  it('are right where they say what the English says', () => {
    expect(problemsOf(packWith(german))).toEqual([]);
  });

  it.each([
    ['a caution that is missing', 'cautions', german.cautions ?? '', '[]', 'de/cautions.yaml:1 lacks heat'],
    [
      'a caution that the pack has not',
      'cautions',
      'id: heat',
      'id: cold',
      'de/cautions.yaml:1 cold: translates nothing of cautions.yaml',
    ],
    [
      'a sentence too many',
      'cautions',
      '[Es riecht.]',
      '[Es riecht., Es raucht.]',
      'de/cautions.yaml:8 heat: stopWhen has 2 texts for 1',
    ],
    [
      'whom to call left out',
      'cautions',
      "'{fire} anrufen.'",
      'Hilfe holen.',
      'de/cautions.yaml:9 heat: getHelp.0 fills in "" for "{fire}"',
    ],
    [
      'another service called',
      'cautions',
      '{fire}',
      '{police}',
      'de/cautions.yaml:9 heat: getHelp.0 fills in "{police}" for "{fire}"',
    ],
    [
      'a number that the English has not',
      'cautions',
      'Niedrig und',
      'Mit 60 °C und',
      'de/cautions.yaml:4 heat: lead has the numbers "60" for ""',
    ],
    [
      'no line for repeats',
      'cautions',
      '  short: Erwärmen; aufhören bei Geruch.\n',
      '',
      'de/cautions.yaml:1 heat: lacks short',
    ],
    [
      'a region that is missing',
      'regions',
      '  other: Nie in den Müll.',
      '  {}',
      'de/regions.yaml:1 lacks other',
    ],
    [
      'a region that the pack has not',
      'regions',
      'dispose:\n',
      'dispose:\n  NZ: Nie.\n',
      'de/regions.yaml:2 NZ is no region of the pack',
    ],
  ])('%s', (_, file, passage, by, wanted) => {
    expect(problemsOf(broken(file, passage, by))).toContain(wanted);
  });

  it('have no other files, and each entry once and whole', () => {
    expect(problemsOf(packWith({ ...german, sources: '[]' }))).toEqual([
      expect.stringMatching(
        /^de\/sources\.yaml:1 not a file of a language of a pack; those are features\.yaml/,
      ),
    ]);
    const twice = packWith({ ...german, cautions: `${german.cautions}${german.cautions}` });
    expect(problemsOf(twice)).toContain('de/cautions.yaml:11 heat is there twice');
    expect(problemsOf(broken('cautions', 'name: Heizplatte', 'nome: Heizplatte'))).toContainEqual(
      expect.stringMatching(/^de\/cautions\.yaml:1 .*name/),
    );
  });

  it('give way to a folder above that says something else in English', () => {
    const base = packWith(german);
    const heat = (smallPack.cautions ?? '').replace('Warm low and slow.', 'Use no heat at all.');
    const over = packIn({ cautions: heat });
    const plain = loadKnowledge([base], null);
    const laid = loadKnowledge([base, over], null);
    expect(plain.translations.get('de')?.names.get('cautions/heat')).toEqual(['Wärmeplatte']);
    expect(laid.translations.get('de')?.names.has('cautions/heat')).toBe(false);
    expect(laid.translations.get('de')?.texts.has('Use no heat at all.')).toBe(false);
    expect(laid.version).not.toBe(plain.version);
    // A folder that brings the language along is asked for all that it says in English.
    const half = packWith({ cautions: '[]' }, { cautions: heat });
    expect(problemsOf(base, half)).toEqual(['de/cautions.yaml:1 lacks heat']);
  });

  it('are kept in the cache with the rest, and read again when they change', () => {
    const folder = packWith(german);
    const first = loadKnowledge([folder], null).version;
    writeFileSync(join(folder, 'de', 'regions.yaml'), 'dispose:\n  other: Niemals in den Müll.\n');
    const second = loadKnowledge([folder], null);
    expect(second.version).not.toBe(first);
    expect([...(second.translations.get('de')?.texts.values() ?? [])]).toContain('Niemals in den Müll.');
  });
});

describe('texts of a language', () => {
  const cautions = [...knowledge().cautions.values()];
  const german = renderingIn(knowledge(), 'de');

  it('are found by their English, and stay English where there is none, which is told', () => {
    const missing: string[] = [];
    const [first] = cautions;
    const lead = packText(first?.lead ?? '');
    expect(render(lead, german)).not.toBe(first?.lead);
    expect(render(lead, 'en')).toBe(first?.lead);
    expect(
      render(packText('Nobody translated this.'), { ...german, missing: (text) => missing.push(text) }),
    ).toBe('Nobody translated this.');
    expect(missing).toEqual(['Nobody translated this.']);
  });

  it('are there for every caution: other words, each sentence, and its own names', () => {
    const texts = knowledge().translations.get('de')?.texts;
    for (const caution of cautions) {
      for (const part of statementParts)
        for (const { says } of caution[part]) {
          expect(texts?.has(says), says).toBe(true);
          if (says !== '{dispose}') expect(texts?.get(says)).not.toBe(says);
        }
      if (caution.neverShort) expect(caution.short).toBeUndefined();
      else expect(texts?.get(caution.short ?? ''), caution.id).toMatch(/^(?=.*\baufhören\b).{1,110}$/);
      expect(knowledge().translations.get('de')?.names.get(`cautions/${caution.id}`)).not.toEqual([]);
    }
  });

  it('begin with the local codes, in the words that stand over the cards', () => {
    const words = render(packText(LOCAL_CODES), german);
    expect(words).not.toBe(LOCAL_CODES);
    for (const caution of cautions)
      expect(render(packText(caution.do[0]?.says ?? ''), german), caution.id).toBe(words);
  });

  it('are filled in like the English ones', () => {
    const { regions } = knowledge();
    for (const region of ['AT', 'CH', 'BR', null]) {
      for (const caution of cautions) {
        const words = JSON.stringify(
          renderAll(
            [fullCaution(knowledge(), caution, region), cardOf(knowledge(), caution, region)],
            german,
          ),
        );
        expect(words).not.toMatch(/\{[a-z]+\}/);
        for (const sentence of Object.values(regions.dispose)) expect(words).not.toContain(sentence);
      }
    }
    const number = (region: string, service: Service = 'fire', locale = 'de') =>
      render(emergencyNumber(knowledge(), region, service), renderingIn(knowledge(), locale));
    expect(number('CH')).toBe('118 oder 112');
    expect(number('DE', 'poison')).toBe('deine örtliche Giftnotrufzentrale');
    expect(number('AT', 'poison')).toBe('01 406 43 43');
    expect(number('CH', 'fire', 'en')).toBe('118 or 112');
  });
});
