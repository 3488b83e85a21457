import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { packFolder } from '../../knowledge/load.ts';
import { dangerWords, readWords } from '../../knowledge/words.ts';
import { dangerIn } from '../../shared/words/danger.ts';
import { temporary } from '../knowledge/small-pack.ts';
import { dangerous, dangerousLater, innocentEnglish, innocentGerman, innocentLater } from './danger-lines.ts';

const words = dangerWords(readWords([packFolder], null).words);
const facts = (text: string) => dangerIn(words, text).facts;

/** The least that has to be found: each tells of danger by itself. */
const alone = `fire|on fire|smoke|smoking|sparks|burnt smell|burning smell|leaking battery|puffy battery|expanded battery|bulge|battery bulge|screen lifting|back coming off|sizzling|hissing|hot battery|pierced the cell|snapped tab|dropped in toilet|damp|sea water|spilled coffee|rain|moisture warning|water in port|Wasserschaden|Akku aufgebläht|riecht verbrannt|raucht|in water gevallen|batterij opgezwollen|rook`;

describe('words of danger', () => {
  it('are a hundred and more in English and in German', () => {
    for (const language of ['en', 'de']) {
      const says = words.get(language)?.says ?? [];
      expect(new Set(says.flatMap(({ phrases }) => phrases)).size).toBeGreaterThanOrEqual(100);
    }
    expect([...words.keys()].sort()).toEqual(['de', 'en', 'es', 'fr', 'nl']);
  });

  it.each(alone.split('|'))('finds "%s"', (text) => {
    expect(facts(text)).not.toEqual([]);
  });

  it.each([...dangerous, ...dangerousLater])('finds what "%s" says', (text, ...expected) => {
    expect(facts(text)).toEqual(expect.arrayContaining(expected));
  });

  it('finds it in capitals, with umlauts written out, and with any apostrophe', () => {
    for (const [text, ...expected] of dangerous) {
      expect(facts(text.toUpperCase()), text).toEqual(expect.arrayContaining(expected));
      const written = text.replace(
        /[äöüß]/g,
        (letter) => ({ ä: 'ae', ö: 'oe', ü: 'ue', ß: 'ss' })[letter] ?? '',
      );
      expect(facts(written), written).toEqual(expect.arrayContaining(expected));
      expect(facts(text.normalize('NFD')), text).toEqual(expect.arrayContaining(expected));
      expect(facts(text.replaceAll("'", '’')), text).toEqual(expect.arrayContaining(expected));
    }
  });

  it.each([...innocentEnglish, ...innocentGerman, ...innocentLater])('raises no alarm at "%s"', (text) => {
    expect(dangerIn(words, text).found).toEqual([]);
  });

  it('has enough lines to be tried on', () => {
    expect(new Set(dangerous.map(([text]) => text)).size).toBeGreaterThanOrEqual(60);
    expect(new Set(innocentEnglish).size).toBeGreaterThanOrEqual(60);
    expect(new Set(innocentGerman).size).toBeGreaterThanOrEqual(40);
  });

  it.each([
    ['no smoke but swollen', ['swollen']],
    ['not hot but it hisses', ['hot']],
    ['no longer smokes', ['hot']],
    ['does not smoke anymore', ['hot']],
    ['ne fume plus', ['hot']],
    ['swollen? no idea', ['swollen']],
    ['not only swollen, leaking too', ['swollen', 'leaking']],
    ['not without smoke', ['hot']],
    ['lädt nicht aufgebläht', ['swollen']],
    ['not charging swelling battery', ['swollen']],
    ['no bulge, leaking', ['leaking']],
  ])('does not take "%s" for a denial of all of it', (text, expected) => {
    expect(facts(text)).toEqual(expected);
  });

  it.each([
    'battery: no swelling',
    'swelling: none',
    'smoke - no',
    'swollen? no',
    'neither swollen nor hot',
    'no bulge, leak or smoke',
    'water damage: none',
    'Akku raucht nicht',
    'Akku nicht aufgebläht oder heiß',
    'Wasserschaden nein',
    'accu niet opgezwollen',
    'geen rook',
    'batterie pas gonflée',
    'ne fume pas',
    'sin humo',
    'no está hinchada',
  ])('takes "%s" for a denial', (text) => {
    expect(facts(text)).toEqual([]);
  });

  it.each([
    'swolen cell',
    'smokeing',
    'bateri leaking',
    'the battery is hissng',
    'aufgebläth',
    'explodet',
    'leakign',
  ])('forgives the slip in "%s"', (text) => {
    expect(facts(text)).not.toEqual([]);
  });

  it('tells fire from what is wet and from a cell that is swollen, and where each stands', () => {
    const text = 'got wet, then it smoked; now swollen';
    expect(dangerIn(words, text)).toEqual({
      facts: ['wet', 'hot', 'swollen'],
      found: [
        { text: 'wet', from: 4, to: 7, fact: 'wet' },
        { text: 'smoked', from: 17, to: 23, fact: 'hot', service: 'fire' },
        { text: 'swollen', from: 29, to: 36, fact: 'swollen' },
      ],
    });
  });

  const neutral = fc.constantFrom(
    ...'grey blue phone from Ines paid 20 euros yesterday box drawer 64 gigabytes model number three for parts please look grau Schublade gestern Kiste bitte telefoon hier'.split(
      ' ',
    ),
  );
  const padding = fc.array(neutral, { maxLength: 12 }).map((list) => list.join(' '));

  it('is hidden by no words around it', () => {
    fc.assert(
      fc.property(fc.constantFrom(...dangerous), padding, padding, ([text, ...expected], before, behind) => {
        const said = `${before} ${text} ${behind}`;
        expect(facts(said)).toEqual(expect.arrayContaining(expected));
      }),
      { numRuns: 2000 },
    );
  });

  it('is hidden by no innocent line before or behind it', () => {
    const line = fc.constantFrom(...innocentEnglish, ...innocentGerman);
    const mark = fc.constantFrom('. ', '\n', '; ', '! ');
    fc.assert(
      fc.property(
        fc.constantFrom(...dangerous),
        line,
        line,
        mark,
        ([text, ...expected], before, behind, by) => {
          expect(facts(`${before}${by}${text}${by}${behind}`)).toEqual(expect.arrayContaining(expected));
        },
      ),
      { numRuns: 3000 },
    );
  });

  it('reads any text without a crash and says where it found what', () => {
    const bits = fc.constantFrom(
      ...alone.split(/[| ]/),
      'no',
      'not',
      'nicht',
      ',',
      '?',
      ': ',
      "n't",
      'ä',
      '\u0301',
      '🔥',
      '\n',
    );
    const text = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 300 }),
      fc.array(bits, { maxLength: 80 }).map((list) => list.join(' ')),
      fc.array(bits, { maxLength: 80 }).map((list) => list.join('')),
    );
    fc.assert(
      fc.property(text, (any) => {
        const { found, facts: all } = dangerIn(words, any);
        for (const one of found) {
          expect(any.slice(one.from, one.to)).toBe(one.text);
          expect(all).toContain(one.fact);
        }
      }),
      { numRuns: 3000 },
    );
  });
});

describe('the words of a pack', () => {
  const folderWith = (yaml: string): string => {
    const folder = temporary('words-');
    mkdirSync(join(folder, 'words'));
    writeFileSync(join(folder, 'words', 'en.yaml'), yaml);
    return folder;
  };
  const read = (yaml: string) => readWords([folderWith(yaml)], null);

  it('are added to by a folder laid over it', () => {
    const over = folderWith('danger:\n  says: [{fact: hot, service: fire, phrases: [gone up]}]');
    const both = dangerWords(readWords([packFolder, over], null).words);
    expect(facts('it has gone up')).toEqual([]);
    expect(dangerIn(both, 'it has gone up').facts).toEqual(['hot']);
    expect(dangerIn(both, 'smoke').facts).toEqual(['hot']);
  });

  it.each([
    ['danger:\n  says: [{fact: melted, phrases: [gone]}]', 'danger.says.0.fact'],
    ['danger:\n  says: [{fact: hot, phrases: ["go+ne"]}]', 'danger.says.0.phrases.0'],
    ['danger:\n  says: [{fact: hot, phrases: ["<thing> gone"]}]', 'no set "thing"'],
    ['danger: [', 'words/en.yaml'],
  ])('are refused where they are wrong: %s', (yaml, place) => {
    expect(
      read(yaml)
        .findings.map(({ file, problem }) => `${file} ${problem}`)
        .join('\n'),
    ).toContain(place);
  });
});
