import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { inspectPack, loadKnowledge } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import { cautionIn, regionsIn, statementParts } from '../../knowledge/translation.ts';
import { speaking, translated } from '../../shared/language/say.ts';
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
      'de/cautions.yaml:1 cold: translates no caution of the pack',
    ],
    [
      'a sentence too many',
      'cautions',
      '[Es riecht.]',
      '[Es riecht., Es raucht.]',
      'de/cautions.yaml:8 heat: stopWhen has 2 sentences for 1',
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
    expect(problemsOf(packWith({ ...german, checks: '[]' }))).toEqual([
      'de/checks.yaml:1 not a file of a language of a pack; those are cautions.yaml, regions.yaml',
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
    expect(laid.translations.de?.cautions.has('heat')).toBe(false);
    expect(plain.translations.de?.cautions.has('heat')).toBe(true);
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
    expect(second.translations.de?.dispose.other).toBe('Niemals in den Müll.');
  });
});

describe('a caution in a language', () => {
  const { cautions, regions } = knowledge();
  const all = [...cautions.values()];

  it('is as it is in English, and falls back to it where the language lacks it', () => {
    for (const caution of all) {
      expect(cautionIn(knowledge(), caution, 'en')).toEqual({ caution, fellBack: false });
      for (const language of ['fr', 'constructor'])
        expect(cautionIn(knowledge(), caution, language)).toEqual({ caution, fellBack: true });
    }
  });

  it('is whole in German: other words, the same grounds, hazards and tone', () => {
    for (const english of all) {
      const { caution, fellBack } = cautionIn(knowledge(), english, 'de');
      expect(fellBack, english.id).toBe(false);
      expect(caution).toMatchObject({ id: english.id, tone: english.tone, firesOn: english.firesOn });
      expect(caution.lead).not.toBe(english.lead);
      for (const name of [english.name, ...english.alias]) expect(caution.alias).toContain(name);
      for (const part of statementParts) {
        expect(caution[part].map(({ ground }) => ground)).toEqual(english[part].map(({ ground }) => ground));
        caution[part].forEach(({ says }, index) => {
          if (english[part][index]?.says !== '{dispose}') expect(says).not.toBe(english[part][index]?.says);
        });
      }
      if (english.neverShort) expect(caution.short).toBeUndefined();
      else expect(caution.short, english.id).toMatch(/^(?=.*\baufhören\b).{1,110}$/);
    }
  });

  it('begins with the local codes, in the words that stand over the cards', () => {
    const words = speaking('de', () => translated(LOCAL_CODES));
    expect(words).not.toBe(LOCAL_CODES);
    for (const english of all)
      expect(cautionIn(knowledge(), english, 'de').caution.do[0]?.says, english.id).toBe(words);
  });

  it('is filled in like the English one', () => {
    speaking('de', () => {
      const places = { regions: regionsIn(knowledge(), 'de'), translations: {} };
      for (const region of ['AT', 'CH', 'BR', null]) {
        for (const english of all) {
          const { caution } = cautionIn(knowledge(), english, 'de');
          const words = JSON.stringify([
            fullCaution(places, caution, region),
            cardOf(places, caution, region),
          ]);
          expect(words).not.toMatch(/\{[a-z]+\}/);
          for (const sentence of Object.values(regions.dispose)) expect(words).not.toContain(sentence);
        }
      }
      expect(emergencyNumber(knowledge(), 'CH')).toBe('118 oder 112');
      expect(emergencyNumber(knowledge(), 'DE', 'poison')).toBe('deine örtliche Giftnotrufzentrale');
      expect(emergencyNumber(knowledge(), 'AT', 'poison')).toBe('01 406 43 43');
    });
    expect(emergencyNumber(knowledge(), 'CH')).toBe('118 or 112');
    expect(regionsIn(knowledge(), 'fr')).toBe(regions);
  });
});
