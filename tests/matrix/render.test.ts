import fc from 'fast-check';
import sanitizeHtml from 'sanitize-html';
import { describe, expect, it } from 'vitest';
import { MESSAGE_BYTES, renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { type Block, facts, type Reply, reply, steps, table, text } from '../plain-reply.ts';
import { testBot } from '../test-bot.ts';

const drawn = (made: Parameters<typeof reply>[0], notes: string[] = [], most = MESSAGE_BYTES) =>
  renderForMatrix(reply(made), notes, { most });
const one = (made: Parameters<typeof reply>[0]) => {
  const [message, ...more] = drawn(made);
  expect(more).toEqual([]);
  return message ?? { body: '', html: '' };
};

/**
 * Tags and attributes that the Matrix specification suggests clients to permit (Client-Server API v1.11, "m.room.message
 * msgtypes", read from memory), as far as the drawing uses them.
 */
const permitted = {
  allowedTags: [
    'blockquote',
    'p',
    'ul',
    'ol',
    'li',
    'strong',
    'code',
    'pre',
    'br',
    'table',
    'thead',
    'tbody',
    'tr',
    'th',
    'td',
  ],
  allowedAttributes: { ol: ['start'] },
};
/** Unchanged by a sanitiser: well formed, and nothing in it that a client would drop. */
const isPermitted = (html: string) =>
  sanitizeHtml(html, permitted).replaceAll('<br />', '<br>') ===
  html.replaceAll('&#39;', "'").replaceAll('&quot;', '"');

const textOf = (html: string) => sanitizeHtml(html, { allowedTags: [], allowedAttributes: {} });

describe('a reply as Matrix messages', () => {
  it('begins with the cautions, in body and HTML', () => {
    const { body, html } = one({
      title: 'New cell',
      cautions: [
        { id: 'a', name: 'Prying', tone: 'danger', lead: 'Disconnect the cell.', points: ['Never bend it.'] },
      ],
      blocks: [text('Then go on.')],
    });
    expect(body).toBe(
      '◆ DANGER: Prying\nDisconnect the cell.\n- Never bend it.\n\n▸ New cell\n\nThen go on.',
    );
    expect(html).toBe(
      '<blockquote><strong>◆ DANGER: Prying</strong><p>Disconnect the cell.</p><ul><li>Never bend it.</li></ul></blockquote><p><strong>▸ New cell</strong></p><p>Then go on.</p>',
    );
  });

  it('draws a table as a list, since clients run cells together, with each row in words', () => {
    const { body, html } = one({
      title: 'Worth',
      blocks: [table(['AUD', '>Restore', '>Pass'], [['Expected', '26.84', '0.00']], 'Side by side')],
    });
    expect(html).toContain(
      '<p><strong>Side by side</strong></p><p>AUD</p><ul><li><strong>Expected</strong>: Restore 26.84; Pass 0.00</li></ul>',
    );
    expect(body).toContain('Side by side\nAUD\n- Expected: Restore 26.84; Pass 0.00');
  });

  it('puts the marks under what was wrong', () => {
    const { body, html } = one({
      title: 'No',
      blocks: [{ kind: 'pointer', line: '!th worth <b>', from: 10, to: 13 }],
    });
    expect(body).toContain('!th worth <b>\n          ^^^');
    expect(html).toContain('<pre><code>!th worth &lt;b&gt;\n          ^^^\n</code></pre>');
  });

  it('numbers the choices as the reactions are', () => {
    const invoke = { command: 'help', action: '', options: {} };
    const { body, html } = one({
      title: 'Q',
      choices: [
        { label: 'yes', invoke },
        { label: 'no', invoke },
      ],
    });
    expect(body).toContain('Answer with a reaction or a number:\n1  yes\n2  no');
    expect(html).toContain('<ol><li>yes</li><li>no</li></ol>');
  });

  it('says what the surface has to add last', () => {
    expect(drawn({ title: 'A' }, ['That reached me 3 h late.'])[0]?.body).toBe(
      '▸ A\n\nThat reached me 3 h late.',
    );
  });

  it('lets no text become markup', () => {
    const nasty = '<script>x</script><a href="https://evil.example">&amp;</a> @room';
    fc.assert(
      fc.property(fc.constantFrom(nasty, '</td><img src=x onerror=y>', '"\'&<>', 'a\nb'), (said) => {
        const blocks: Block[] = [
          text(said, said),
          facts([[said, said]], said),
          table([said, said], [[said, said]]),
          steps([said], said),
          { kind: 'quote', text: said, by: said },
          { kind: 'bars', bars: [{ label: said, share: 0.5 }] },
          { kind: 'pointer', line: said.replace('\n', ' '), from: 0, to: 2 },
        ];
        const { html, body } = one({
          title: said,
          blocks,
          cautions: [{ id: 'a', name: said, tone: 'caution', lead: said, points: [said] }],
          sources: [{ id: 's', title: said }],
        });
        expect(html).not.toMatch(/<(script|a|img|b)\b/);
        expect(isPermitted(html)).toBe(true);
        expect(body).toContain(said);
      }),
    );
  });

  it('keeps control and turning characters out', () => {
    const { body, html } = one({ title: 'a\u001b[31mb\u202ec', blocks: [text('x\u0007y')] });
    for (const hidden of ['\u0007', '\u001b', '\u202e']) expect(`${body}${html}`).not.toContain(hidden);
  });

  it('draws every block with all its words, in body and HTML', () => {
    const bench_ = testBot();
    bench_.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:749');
    for (const line of [
      '/worth "Orrin K3" price:20',
      '/trace dead model:"Orrin K3"',
      '/paired "Orrin K3" component:battery',
      '/caution swollen-cell',
      '/setup',
      '/help',
      '/worth nonsense:1',
    ]) {
      const made = bench_.say(line);
      const messages = renderForMatrix(made);
      const body = messages.map((message) => message.body).join('\n');
      const html = messages.map((message) => message.html).join('');
      expect(messages.every((message) => isPermitted(message.html))).toBe(true);
      const flat = (words: string) => words.replace(/\s+/g, ' ');
      for (const words of wordsOf(made)) {
        expect(flat(body)).toContain(flat(words));
        expect(flat(textOf(html))).toContain(
          flat(words).replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;'),
        );
      }
    }
  });
});

/** The words of a reply that must be seen, whatever its blocks. */
function wordsOf(made: Reply): string[] {
  return [
    made.title,
    ...made.cautions.flatMap(({ name, lead, points }) => [name, lead, ...points]),
    ...made.choices.map(({ label }) => label),
    ...made.blocks.flatMap((block): string[] => {
      switch (block.kind) {
        case 'text':
        case 'quote':
          return [block.text];
        case 'facts':
          return block.facts.flatMap(({ label, value }) => [label, value]);
        case 'table':
          return block.rows.flat();
        case 'steps':
          return block.steps;
        case 'bars':
          return block.bars.map(({ label }) => label);
        case 'pointer':
          return [block.line];
        default:
          return [];
      }
    }),
  ].filter(Boolean);
}

describe('a long reply', () => {
  const bytes = ({ body, html }: { body: string; html: string }) =>
    Buffer.byteLength(JSON.stringify(body)) + Buffer.byteLength(JSON.stringify(html));

  it('is cut between blocks, with the choices in the last message', () => {
    const invoke = { command: 'help', action: '', options: {} };
    const blocks = Array.from({ length: 40 }, (_, index) => text(`${index} ${'word '.repeat(20)}`));
    const messages = drawn({ title: 'T', blocks, choices: [{ label: 'go on', invoke }] }, [], 2000);
    expect(messages.length).toBeGreaterThan(2);
    for (const message of messages) {
      expect(bytes(message)).toBeLessThanOrEqual(2000);
      expect(isPermitted(message.html)).toBe(true);
    }
    expect(messages.at(-1)?.body).toContain('1  go on');
    const body = messages.map((message) => message.body).join('\n\n');
    for (let index = 0; index < 40; index += 1) expect(body).toContain(`${index} word`);
  });

  it('cuts a table, a list or a text that is too long itself, and loses nothing', () => {
    const rows = Array.from({ length: 200 }, (_, index) => [`row${index}`, `value${index}`]);
    const words = Array.from({ length: 600 }, (_, index) => `w${index}`);
    const messages = drawn(
      {
        title: 'T',
        blocks: [
          table(['A', 'B'], rows, 'Heading'),
          steps(rows.map(([label = '']) => label)),
          text(words.join(' ')),
        ],
      },
      [],
      1500,
    );
    for (const message of messages) {
      expect(bytes(message)).toBeLessThanOrEqual(1500);
      expect(isPermitted(message.html)).toBe(true);
    }
    const body = messages.map((message) => message.body).join('\n');
    for (const [label = '', value = ''] of rows) expect(body).toContain(`- ${label}: ${value}`);
    // The numbers of steps go on in the next message.
    for (const [index, [label = '']] of rows.entries()) expect(body).toContain(`${index + 1}. ${label}`);
    expect(messages.map((message) => message.html).join('')).toMatch(/<ol start="\d+">/);
    expect(body.split(/\s+/)).toEqual(expect.arrayContaining(words));
    expect(body.match(/Heading/g)).toHaveLength(1);
  });

  it('cuts one word that no message holds', () => {
    const messages = drawn({ title: 'T', blocks: [table(['A'], [['x'.repeat(5000)]])] }, [], 1500);
    for (const message of messages) expect(bytes(message)).toBeLessThanOrEqual(1500);
    expect(
      messages
        .map((message) => message.body)
        .join('')
        .match(/x/g),
    ).toHaveLength(5000);
  });
});
