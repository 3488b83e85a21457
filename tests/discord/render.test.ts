import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Page, renderPages } from '../../src/surfaces/discord/render.ts';
import { cleanLine, columnsOf } from '../../src/surfaces/text.ts';
import { type Block, facts, type Reply, reply, steps, table, text } from '../plain-reply.ts';
import { testBot } from '../test-bot.ts';
import { checkMessage } from './loopback/rules.ts';
import { readMarkup } from './markup.ts';

const caution = (name: string, tone: 'caution' | 'danger' = 'caution') => ({
  id: name,
  name,
  tone,
  lead: `Lead of ${name}.`,
  points: ['Do this.', 'Not that.'],
});
/** A page as a message that Discord would be sent. */
const asMessage = (page: Page) => {
  const body = { ...page, components: [], allowed_mentions: { parse: [] } };
  const read: Parameters<typeof checkMessage>[0] = JSON.parse(JSON.stringify(body));
  return read;
};
const problemsOf = (pages: readonly Page[]): string[] =>
  pages.flatMap((page) => checkMessage(asMessage(page), []));
/** Everything that a page shows, marks gone, letters that are only put between backticks gone. */
const shownOn = (pages: readonly Page[]): string =>
  pages
    .flatMap(({ embeds }) => embeds.flatMap(({ title = '', description = '' }) => [title, description]))
    .map((part) => readMarkup(part).shown.replaceAll('\u200b', ''))
    .join('\n');
const codeLines = (page: Page): string[] =>
  page.embeds.flatMap(({ description = '' }) =>
    [...description.matchAll(/```\n([\s\S]*?)\n```/g)].flatMap((match) => (match[1] ?? '').split('\n')),
  );

describe('a drawn reply', () => {
  it('has its cautions before everything else, each a card of its own, and named in the text', () => {
    const [page] = renderPages(
      reply({
        title: 'Trace 3',
        blocks: [text('Answer.')],
        cautions: [caution('Swollen cell', 'danger'), caution('Heat')],
      }),
    );
    expect(page?.embeds.map(({ title }) => title)).toEqual([
      '◆ DANGER: Swollen cell',
      '▲ CAUTION: Heat',
      '▸ Trace 3',
    ]);
    expect(page?.content).toBe('◆ **DANGER:** Swollen cell\n▲ **CAUTION:** Heat');
    expect(page?.embeds[0]?.description).toBe('Lead of Swollen cell.\n- Do this.\n- Not that.');
  });

  it('says a tone in a sign, not by colour alone', () => {
    const titles = (['plain', 'good', 'caution', 'danger'] as const).map(
      (tone) => renderPages(reply({ title: 'Words', tone }))[0]?.embeds[0]?.title,
    );
    expect(titles).toEqual(['▸ Words', '✓ Words', '▲ Words', '◆ Words']);
    expect(renderPages(reply({ title: 'No', outcome: 'refused' }))[0]?.embeds[0]?.title).toBe('✗ No');
  });

  it('draws a narrow table in columns and a wide one as a list', () => {
    const [narrow] = renderPages(
      reply({ title: 'T', blocks: [table(['Phone', '>Price'], [['Orrin K3', 'AUD 131.00']])] }),
    );
    expect(narrow?.embeds[0]?.description).toBe(
      '```\nPhone          Price\n────────  ──────────\nOrrin K3  AUD 131.00\n```',
    );
    const [wide] = renderPages(
      reply({
        title: 'T',
        blocks: [
          table(
            ['Option', 'What it is', 'For example'],
            [['price', 'What the seller asks for the phone', '60']],
          ),
        ],
      }),
    );
    expect(wide?.embeds[0]?.description).toBe(
      '- **price** – What it is: What the seller asks for the phone; For example: 60',
    );
  });

  it('says the unit of a table that it draws as a list', () => {
    const [page] = renderPages(
      reply({
        title: 'T',
        blocks: [
          table(['AUD', '>Restore', '>Strip', '>Pass'], [['Expected to leave', '26.84', '-12.26', '0.00']]),
        ],
      }),
    );
    expect(page?.embeds[0]?.description).toBe(
      '-# Amounts in AUD\n- **Expected to leave** – Restore: 26.84; Strip: -12.26; Pass: 0.00',
    );
  });

  it('draws shares as bars of one length with their labels beside them', () => {
    const bars = [
      { label: 'battery *dead* or its protection open', share: 0.44 },
      { label: 'something else', share: 0.003 },
      { label: 'nothing', share: 0 },
    ];
    const [page] = renderPages(reply({ title: 'T', blocks: [{ kind: 'bars', bars }] }));
    const lines = page?.embeds[0]?.description?.split('\n') ?? [];
    expect(lines[0]).toBe('`████░░░░░░` **44\u00a0%** battery \\*dead\\* or its protection open');
    expect(lines[1]).toMatch(/^`█░{9}` \*\*/);
    expect(lines[2]).toMatch(/^`░{10}` \*\*/);
  });

  it('keeps a number and its unit on one line', () => {
    const [page] = renderPages(
      reply({ title: 'Pass at AUD 20.00', blocks: [text('It is 32 % of AUD -5.')] }),
    );
    expect(page?.embeds[0]?.title).toBe('▸ Pass at AUD\u00a020.00');
    expect(page?.embeds[0]?.description).toBe('It is 32\u00a0% of AUD\u00a0-5.');
  });

  it('keeps the caret under what it points at', () => {
    const [page] = renderPages(
      reply({
        title: 'No',
        outcome: 'refused',
        blocks: [{ kind: 'pointer', line: '/worth Orin price:60', from: 7, to: 11 }],
      }),
    );
    expect(page?.embeds[0]?.description).toBe('```\n/worth Orin price:60\n       ^^^^\n```');
  });

  it('escapes text wherever it stands', () => {
    const evil = '@everyone ||x|| [a](https://b.example) *c* `d` <@123456789012345678>';
    const made: Reply = reply({
      title: evil,
      cautions: [{ id: 'x', name: evil, tone: 'danger', lead: evil, points: [evil] }],
      blocks: [
        text(evil, evil),
        facts([[evil, evil]], evil),
        steps([evil, evil], evil),
        { kind: 'quote', text: evil, by: evil },
        table([evil, 'b', 'c'], [[evil, evil, evil]], evil),
      ],
      sources: [{ id: 's', title: evil }],
    });
    const pages = renderPages(made);
    expect(problemsOf(pages)).toEqual([]);
    for (const { embeds, content } of pages) {
      // What is drawn here is our own: bold words, lists, quotes and small print.
      for (const part of [
        content,
        ...embeds.flatMap(({ title = '', description = '' }) => [title, description]),
      ])
        expect(
          readMarkup(part).markup.filter((name) => !['emphasis', 'list', 'quote', 'subtext'].includes(name)),
        ).toEqual([]);
    }
    const bold = pages[0]?.embeds.at(-1)?.description ?? '';
    expect(bold).toContain('\\@everyone \\|\\|x\\|\\|');
  });

  it('turns the page between blocks, and counts the pages', () => {
    const long = 'word '.repeat(400).trim();
    const pages = renderPages(
      reply({ title: 'Long', blocks: [text(long, 'One'), text(long, 'Two'), text(long, 'Three')] }),
    );
    expect(pages.map(({ embeds }) => embeds[0]?.description?.slice(0, 9))).toEqual([
      '**One**\nw',
      '**Two**\nw',
      '**Three**',
    ]);
    expect(pages.map(({ embeds }) => embeds[0]?.footer?.text)).toEqual([
      'Page 1 of 3',
      'Page 2 of 3',
      'Page 3 of 3',
    ]);
    for (const { embeds } of pages) expect(embeds[0]?.title).toBe('▸ Long');
  });

  it('names the cautions on every page', () => {
    const long = 'word '.repeat(400).trim();
    const pages = renderPages(
      reply({
        title: 'Long',
        cautions: [caution('Swollen cell', 'danger')],
        blocks: [text(long), text(long)],
      }),
    );
    expect(pages.length).toBeGreaterThan(1);
    for (const page of pages) expect(page.content).toBe('◆ **DANGER:** Swollen cell');
    expect(pages[0]?.embeds[0]?.title).toBe('◆ DANGER: Swollen cell');
  });

  it('goes on counting steps where a list is cut', () => {
    const pages = renderPages(
      reply({
        title: 'Steps',
        blocks: [steps(Array.from({ length: 60 }, (_, i) => `${i + 1} ${'x'.repeat(90)}`))],
      }),
    );
    const numbers = pages
      .flatMap(({ embeds }) => embeds.map(({ description = '' }) => description))
      .join('\n')
      .match(/^\d+\. \d+/gm);
    expect(numbers).toEqual(Array.from({ length: 60 }, (_, i) => `${i + 1}. ${i + 1}`));
  });

  it('puts each picture below the answer, and a mark into the footer', () => {
    const [page] = renderPages(reply({ title: 'Week' }), { pictures: ['a.png', 'b.png'], mark: 'ref abc' });
    expect(page?.embeds.map(({ image }) => image?.url)).toEqual(['attachment://a.png', 'attachment://b.png']);
    expect(page?.embeds.at(-1)?.footer?.text).toBe('ref abc');
  });
});

const words = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 30 }),
  fc.lorem({ maxCount: 30, mode: 'words' }),
  fc.constantFrom('', 'x'.repeat(3000), '`'.repeat(300), '*'.repeat(1500), '\n\n\n', '日本語'.repeat(200)),
);
const block: fc.Arbitrary<Block> = fc.oneof(
  fc.record({ kind: fc.constant('text' as const), text: words, heading: words }),
  fc.record({
    kind: fc.constant('facts' as const),
    facts: fc.array(fc.record({ label: words, value: words }), { maxLength: 8 }),
  }),
  fc.integer({ min: 0, max: 4 }).chain((columns) =>
    fc.record({
      kind: fc.constant('table' as const),
      heading: words,
      columns: fc.array(
        fc.record({ label: words, align: fc.constantFrom('left' as const, 'right' as const) }),
        {
          minLength: columns,
          maxLength: columns,
        },
      ),
      rows: fc.array(fc.array(words, { minLength: columns, maxLength: columns }), { maxLength: 6 }),
    }),
  ),
  fc.record({
    kind: fc.constant('steps' as const),
    ordered: fc.boolean(),
    steps: fc.array(words, { maxLength: 30 }),
  }),
  fc.record({ kind: fc.constant('quote' as const), text: words, by: words }),
  fc.record({
    kind: fc.constant('bars' as const),
    bars: fc.array(fc.record({ label: words, share: fc.double({ min: 0, max: 1, noNaN: true }) }), {
      maxLength: 8,
    }),
  }),
  fc.record({
    kind: fc.constant('pointer' as const),
    line: words,
    from: fc.integer({ min: 0, max: 40 }),
    to: fc.integer({ min: 0, max: 40 }),
  }),
);
const anyReply: fc.Arbitrary<Reply> = fc
  .record({
    title: words,
    cautions: fc.array(
      fc.record({
        id: fc.constant('c'),
        name: words,
        tone: fc.constantFrom('caution' as const, 'danger' as const),
        lead: words,
        points: fc.array(words, { maxLength: 6 }),
      }),
      { maxLength: 11 },
    ),
    blocks: fc.array(block, { maxLength: 5 }),
    sources: fc.array(fc.record({ id: fc.constant('s'), title: words }), { maxLength: 20 }),
  })
  .map((part) => reply(part));

describe('any reply', () => {
  it('is drawn within the limits of Discord, and every word of it is there', () => {
    fc.assert(
      fc.property(anyReply, (made) => {
        const pages = renderPages(made, { notes: ['A note.'], mark: 'ref abc', pictures: ['p.png'] }).map(
          (page) => ({
            ...page,
            embeds: page.embeds.map(({ image: _, ...embed }) => embed),
          }),
        );
        expect(problemsOf(pages)).toEqual([]);
        for (const page of pages) {
          for (const line of codeLines(page)) expect(columnsOf(line.trimEnd())).toBeLessThanOrEqual(30);
        }
        const bare = (all: string) => all.replace(/[\s\u200b]+/g, '');
        const shown = bare(shownOn(pages));
        for (const one of made.blocks) {
          const said =
            one.kind === 'text' || one.kind === 'quote'
              ? [one.text]
              : one.kind === 'steps'
                ? one.steps
                : one.kind === 'facts'
                  ? one.facts.flatMap(({ label, value }) => [label, value])
                  : one.kind === 'table'
                    ? one.rows.flat()
                    : [];
          for (const part of said) {
            // A long part may be cut over pages, with titles between: its beginning and its end are looked for.
            const plain = bare(cleanLine(part));
            expect(shown).toContain(plain.slice(0, 15));
            expect(shown).toContain(plain.slice(-15));
          }
        }
      }),
      { numRuns: 50 },
    );
  }, 60_000);

  it('of the bot itself is drawn within the limits', () => {
    const { say } = testBot();
    const lines = [
      '/help',
      '/help symptoms',
      '/help job',
      '/caution',
      '/caution "swollen cell"',
      '/family list',
      '/family show glued-front-home-sensor',
      '/paired glued-front-home-sensor',
      '/worth glued-front-home-sensor price:20 symptoms:dead',
      '/trace dead model:glued-front-home-sensor',
      '/nothing',
    ];
    for (const line of lines) expect(problemsOf(renderPages(say(line)))).toEqual([]);
  });
});
