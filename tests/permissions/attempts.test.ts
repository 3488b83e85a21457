/** What somebody might try who means no good: numbers guessed, choices altered and replayed, another's words asked for. */
import fc from 'fast-check';
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import type { Request } from '../../commands/framework/request.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

/** Tin Shed has jobs, traces, prices, swap reports and a note; Loft has only somebody who asks. */
let tin: TestBot;
let loft: (say: string | Request['say'], direct?: boolean) => Reply;
beforeEach(() => {
  tin = testBot();
  const other = tin.database.collectives.create('Loft', { region: 'AU', zone: 'Australia/Sydney' });
  loft = (say, direct = false) =>
    tin.dispatcher.handle({
      collective: other.id,
      person: { key: 'terminal:Mallow', name: 'Mallow', role: 'steward' },
      direct,
      now: tin.now,
      say: typeof say === 'string' ? { line: say } : say,
    });
  tin.say('/family name "Zebrawood 9" as:glued-front-home-sensor', { role: 'steward' });
  tin.say('/prices add "Zebrawood 9" price:180 note:Quincewort');
  tin.say('/job open "Zebrawood 9" symptoms:"dead, no charge" ownership:shown lock:free stolen:clear');
  tin.say('/job log "Quincewort on the board"');
  tin.say('/trace start job:1');
  tin.say('/swap battery effect:notice of:"Zebrawood 9" grade:copy saw:Quincewort');
  tin.say('/note add "Damson for me alone" job:1', { direct: true });
});

/** Names and words that are Tin Shed's. */
const OWN = /Quincewort|Damson|Zebrawood|Ines|Tin Shed/;
/** Whether a reply says anything of theirs that was not in the question. */
const leaks = (reply: Reply, asked: string): boolean =>
  OWN.test(
    wordsOf(reply)
      .replaceAll(JSON.stringify(asked).slice(1, -1), '')
      .replaceAll('Zebrawood 9', asked.includes('Zebrawood 9') ? '' : 'Zebrawood 9'),
  );

describe('from another collective', () => {
  it('a model of theirs is one that nobody has named', () => {
    const reply = loft('/paired "Zebrawood 9"');
    expect(reply.title).toBe('How does Zebrawood 9 open?');
    expect(leaks({ ...reply, choices: [] }, '/paired "Zebrawood 9"')).toBe(false);
  });
  it.each([
    '/job show 1',
    '/job show job:1',
    '/job page job:1',
    '/job take job:1',
    '/job log "mine now" job:1',
    '/job strike 1 why:x job:1',
    '/job wipe 1 job:1',
    '/trace wipe 1',
    '/swap wipe 1',
    '/shelf wipe 1',
    '/danger wipe job:1',
    '/job finish restored page:seen sold:1 job:1',
    '/job reopen why job:1',
    '/trace show 1',
    '/trace answer dry trace:1',
    '/trace stop trace:1',
    '/worth trace:1 price:1',
    '/prices remove 1',
    '/swap aside 1 why:no',
    '/family forget "Zebrawood 9" prices:remove',
  ])('a guess (%s) finds nothing and changes nothing', (line) => {
    loft('/help');
    const before = tin.dump();
    const reply = loft(line);
    expect(reply.outcome, line).toBe('refused');
    expect(leaks(reply, line), wordsOf(reply)).toBe(false);
    expect(tin.dump()).toEqual(before);
  });

  it.each(['/job list', '/trace list', '/prices', '/swap list', '/week preview', '/family list', '/setup'])(
    'a list (%s) has nothing of theirs in it',
    (line) => {
      const reply = loft(line);
      expect(reply.outcome).toBe('answered');
      expect(leaks(reply, line), wordsOf(reply)).toBe(false);
    },
  );

  it.each([
    '/note list',
    '/note search Damson',
    '/mydata export',
    '/note erase 1',
    '/note edit 1 text:x job:1',
  ])('in a direct message, %s gives none of their words', (line) => {
    const reply = loft(line, true);
    expect(wordsOf(reply).replaceAll(line, '')).not.toMatch(/Quincewort|fluff|for me alone/);
    expect(tin.say('/note list', { direct: true }).data).toMatchObject({ total: 1 });
  });
});

describe('within the collective', () => {
  it('a note of another is not found by number, by search, by export or by erasing', () => {
    for (const line of ['/note edit 1 text:mine', '/note erase 1'])
      expect(tin.say(line, { as: 'Bram', direct: true }).outcome, line).toBe('refused');
    for (const line of ['/note search Damson', '/note list', '/mydata export', '/mydata erase sure:yes'])
      expect(wordsOf(tin.say(line, { as: 'Bram', role: 'steward', direct: true })), line).not.toContain(
        'for me alone',
      );
    expect(wordsOf(tin.say('/note list', { direct: true }))).toContain('Damson for me alone');
  });

  it('somebody of the same name on another platform is somebody else', () => {
    const reply = tin.dispatcher.handle({
      collective: tin.collective.id,
      person: { key: 'discord:1234', name: 'Ines', role: 'member' },
      direct: true,
      now: tin.now,
      say: { line: '/note list' },
    });
    expect(wordsOf(reply)).not.toContain('Damson');
  });
});

describe('a choice', () => {
  it('that is altered, cut, doubled or made up is none', () => {
    const asked = tin.say('/job show 1');
    const token = asked.choices[0]?.token ?? '';
    expect(token).not.toBe('');
    const alterations = [
      token.slice(0, -1),
      `${token}0`,
      `${token} `,
      token.toUpperCase(),
      `%${token}`,
      '',
      '%',
      '*',
    ];
    const before = tin.dump();
    for (const one of alterations.filter((other) => other !== token))
      expect(tin.say({ token: one }).outcome, one).toBe('refused');
    fc.assert(
      fc.property(fc.string(), (one) => {
        fc.pre(!asked.choices.some((choice) => choice.token === one));
        expect(tin.say({ token: one }).outcome).toBe('refused');
      }),
      { numRuns: 200 },
    );
    expect(tin.dump()).toEqual(before);
  });

  it('of another person or collective cannot be taken, and stays good for its own', () => {
    const token = tin.say('/mydata erase', { direct: true }).choices[0]?.token ?? '';
    expect(tin.say({ token }, { as: 'Bram', direct: true }).outcome).toBe('refused');
    expect(loft({ token }, true).outcome).toBe('refused');
    expect(tin.say({ token }, { direct: true }).title).toContain('is erased');
  });

  it('taken in another place than it was offered for is held to what may be said there', () => {
    const token = tin.say('/mydata erase', { direct: true }).choices[0]?.token ?? '';
    const before = tin.dump();
    expect(tin.say({ token }, { direct: false }).outcome).toBe('refused');
    expect(tin.dump()).toEqual(before);
  });

  it('is held to the role of whoever takes it now', () => {
    const choice = tin
      .say('/job show 1', { role: 'steward' })
      .choices.find(({ label }) => /Test/.test(label));
    const token = choice?.token ?? '';
    expect(token).not.toBe('');
    expect(tin.say({ token }, { role: 'visitor' }).outcome).toBe('refused');
  });
});

it('a model called like a formula, markup or a mention comes out of an export as text', () => {
  for (const name of ['=HYPERLINK("http://x")', '@everyone', '+1', '-2+3']) {
    tin.say(`/family name ${JSON.stringify(name)} as:glued-front-home-sensor`, { role: 'steward' });
    tin.say(`/prices add ${JSON.stringify(name)} price:90`);
  }
  const file = tin.say('/prices export').files[0]?.text ?? '';
  expect(file.split('\n').length).toBeGreaterThan(3);
  for (const line of file.split('\n'))
    for (const cell of line.split(',')) expect(cell).not.toMatch(/^"?[=+@-]/);
});
