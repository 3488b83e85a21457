/** The bot speaks German and nothing else where the collective does, whatever is said, on every surface. */
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { recordsPreviewData } from '../../commands/records/preview.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import { drawn, englishIn, englishPassages } from './english.ts';
import { everyRefusal } from './every-refusal.ts';
import { everyReply } from './every-reply.ts';
import { refusalTexts, wordingsOf } from './texts.ts';

/** Refusals that are not brought about here, and why. */
const outOfReach: Readonly<Record<string, string>> = {
  'Job {0} has {1} photos, and no more are kept.': 'tests/photos/ brings it about',
  'Photo {0} was taken by {1}.': 'tests/photos/ brings it about',
  '{0} is no photo that can be read.': 'of Discord alone; asked for by no line here yet',
  'longer than {0} characters': 'the framework counts the characters before an option does',
  'larger than 2 MB': 'the framework counts the characters before an option does',
  'A setting is out of its range.': 'each range is that of an option, which is named then',
  'No faults in the knowledge pack explain all of that together.':
    'the faults of the pack explain any symptoms',
  '{0} works in a shared room only.': 'of commands of one surface; asked for by no line here yet',
  '"{0}" is none': 'asked for by no line here yet',
  'Line {0}: {1}.': 'asked for by no line here yet',
  '{0} is not done on this phone, by what was seen before it.': 'asked for by no line here yet',
  'There is no part {0} here.': 'asked for by no line here yet',
  'Which phones are they?': 'asked for by no line here yet',
  'Phones are given twice.': 'asked for by no line here yet',
  '{0} rows are too many.': 'asked for by no line here yet',
  'There is no phone in it.': 'asked for by no line here yet',
  'The header is not the expected one.': 'asked for by no line here yet',
  '{0} is given twice.': 'asked for by no line here yet',
  'What was seen of a traced phone belongs in its trace.': 'asked for by no line here yet',
  'The knowledge pack has no families.': 'the pack has some',
  '{0} is barred: this phone is wet, or its cell is suspect.': 'asked for by no line here yet',
  '{0} is no longer named here.': 'a model would have to go between two reads of one transaction',
};

describe('everything that can be said, in German', () => {
  const all = [...everyReply('de'), ...everyRefusal('de')].map((said) => ({
    ...said,
    words: drawn(said.reply),
  }));
  const fallBack = render(say`Some of this is in English: nobody has translated it yet.`, 'de');

  it('is a lot, both answers and refusals, and of every command', () => {
    const count = (outcome: Reply['outcome']) => all.filter(({ reply }) => reply.outcome === outcome).length;
    expect(englishPassages.length).toBeGreaterThan(2000);
    expect(count('answered')).toBeGreaterThan(400);
    expect(count('refused')).toBeGreaterThan(400);
    expect(count('fault')).toBe(0);
    for (const { name } of commands) expect(all.some(({ line }) => line.startsWith(`/${name}`))).toBe(true);
  });

  it('is every refusal that the commands have', () => {
    const titles = [
      ...new Set(all.filter(({ reply }) => reply.outcome === 'refused').map(({ reply }) => reply.title)),
    ];
    const texts = refusalTexts();
    expect(texts.length).toBeGreaterThan(90);
    const unsaid = texts.filter((text) => {
      const forms = wordingsOf('de', text).map((form) => form.split(/\{\d\}/).filter(Boolean));
      return !forms.some((parts) => titles.some((title) => parts.every((part) => title.includes(part))));
    });
    expect(unsaid.filter((text) => !(text in outOfReach))).toEqual([]);
  });

  it('has no word of English from the catalogue or the pack', () => {
    // What goes out as open records is told as it goes out, in English.
    const asItGoes = (reply: Reply, words: string) => {
      const read = recordsPreviewData.safeParse(reply.data);
      const cells = read.success
        ? read.data.records.flatMap(({ problem }) => (problem ? [problem] : []))
        : [];
      if (reply.files.some(({ name }) => name.startsWith('open-records'))) return reply.title;
      return cells.reduce((rest, cell) => rest.replaceAll(cell, ''), words);
    };
    const found = all.flatMap(({ line, words, reply }) =>
      englishIn(asItGoes(reply, words), line).map((one) => `${line}: ${one}`),
    );
    expect(found).toEqual([]);
  });

  it('falls back to English nowhere', () => {
    expect(all.filter(({ words }) => words.includes(fallBack)).map(({ line }) => line)).toEqual([]);
    expect(all.filter(({ reply }) => reply.language !== 'de').map(({ line }) => line)).toEqual([]);
  });
});
