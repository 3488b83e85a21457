/** An empty bench, on which nothing is known yet: each example that is shown there can be typed as it is shown. */
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { parseLine } from '../../commands/framework/parse.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { refusalOf, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const isDirect = (line: string): boolean => /^\/(note|mydata)\b/.test(line);
const asked = z.looseObject({ asked: z.string() });

/** Says a line and taps the first answer of each question about a phone that nobody has named, then goes on. */
function through(bot: TestBot, line: string): Reply {
  const how = { role: 'steward', direct: isDirect(line) } as const;
  let reply = bot.say(line, how);
  while (asked.safeParse(reply.data).success) {
    const [first] = reply.choices;
    if (!first) break;
    reply = bot.say({ invoke: first.invoke }, how);
  }
  const goOn = reply.choices.find(({ label }) => label === 'Go on');
  return goOn ? bot.say({ invoke: goOn.invoke }, how) : reply;
}

/** Commands that stand in a reply as they are typed, each alone on its line or behind "First:" or "For example:". */
function shownIn(reply: Reply): string[] {
  return reply.blocks.flatMap((block) => {
    if (block.kind === 'steps') return block.steps.filter((one) => one.startsWith('/'));
    if (block.kind !== 'text') return [];
    const [, line] = /(?:First|For example): (\/.+)$/m.exec(block.text) ?? [];
    return line ? line.split(/, (?=\/)/) : [];
  });
}

/** Files have to be there, words are good once, and roles are the platform's: the example can only show the form. */
const ofTheOutside =
  /^\/(prices import|records import|records export|job photo|setup link word|job photos .*erase|job (strike|wipe))/;
/** What an example may meet: the order of the work, which its refusal tells. */
const ofTheWork = ['wrong-state', 'unsafe', 'missing-option'];

describe('on an empty bench', () => {
  const helps = commands.flatMap(({ name, actions }) =>
    Object.keys(actions).length ? [[name] as const] : [],
  );
  it.each(helps)('what /help %s shows can be typed as it stands', (name) => {
    const lines = shownIn(testBot().say(`/help ${name}`, { role: 'steward' }));
    let first: string[] = [];
    let tried = 0;
    const help = testBot().say(`/help ${name}`, { role: 'steward' });
    expect(help.outcome).toBe('answered');
    for (const block of help.blocks) {
      if (block.kind === 'text' && /First: /.test(block.text)) first = shownIn({ ...help, blocks: [block] });
      if (block.kind !== 'steps') continue;
      for (const line of block.steps) {
        const bot = testBot();
        for (const one of first)
          expect(through(bot, one).outcome, `${line}: before it, ${one}`).toBe('answered');
        const reply = through(bot, line);
        tried += 1;
        expect(bot.faults, line).toEqual([]);
        if (ofTheOutside.test(line)) continue;
        const code = refusalOf(reply)?.code;
        if (code === undefined) continue;
        // Without anything that has to come first, an example is answered.
        expect(first.length > 0 && ofTheWork.includes(code), `${line}: ${code}, ${reply.title}`).toBe(true);
      }
      first = [];
    }
    expect(lines.length).toBeGreaterThanOrEqual(tried);
    expect(tried).toBeGreaterThan(0);
  });

  const everything = commands.flatMap(({ actions }) =>
    Object.values(actions).flatMap(({ examples }) => examples.map((line) => [line] as const)),
  );
  it.each(everything)('a refusal of %s shows what can be typed', (line) => {
    const bot = testBot();
    const reply = bot.say(line, { role: 'steward', direct: isDirect(line) });
    expect(bot.faults).toEqual([]);
    if (reply.outcome !== 'refused') return;
    for (const one of shownIn(reply)) {
      if (ofTheOutside.test(one)) continue;
      expect(through(testBot(), one).outcome, one).toBe('answered');
    }
  });

  it.each(everything)('the commands that the answer to %s speaks of are there', (line) => {
    const reply = through(testBot(), line);
    for (const [, said = ''] of wordsOf(reply).matchAll(/(?<![\w/:.])(\/[a-z]+(?: [a-z][a-z-]*)?)/g)) {
      const word = said.slice(1).split(' ')[0];
      const command = commands.find(({ name }) => name === word);
      expect(command, `${line}: ${said}`).toBeDefined();
      expect(() => parseLine(`/${word}`, commands)).not.toThrow();
    }
  });

  it.each(['/worth "my phone"', '/worth dead', '/worth', '/trace dead', '/job open came:given'])(
    '%s asks what anybody can see of a phone, and names no family',
    (line) => {
      const bot = testBot();
      let reply = bot.say(line);
      expect(reply.outcome).toBe('answered');
      const questions: string[] = [];
      const families = new Set([...bot.context().knowledge.families.values()].map(({ name }) => name));
      while (asked.safeParse(reply.data).success) {
        questions.push(reply.title);
        expect(reply.choices.filter(({ label }) => families.has(label))).toEqual([]);
        const last = reply.choices.at(-1);
        if (!last) break;
        reply = bot.say({ invoke: last.invoke });
      }
      expect(questions.length).toBeGreaterThan(0);
      expect(questions.length).toBeLessThanOrEqual(3);
      const goOn = reply.choices.find(({ label }) => label === 'Go on');
      expect(goOn && bot.say({ invoke: goOn.invoke }).outcome).toBe('answered');
    },
  );

  it('takes what was said in place of a model for what is wrong with it', () => {
    const bot = testBot();
    expect(through(bot, '/worth dead price:20').title).toContain('Keypad phone');
    const choice = bot.say('/worth dead').choices[0];
    expect(choice?.invoke.options.next).toContain('"symptoms":"dead"');
  });

  it('carries no IMEI and no secret behind a question', () => {
    const bot = testBot();
    const withImei = bot.say('/job open "Orrin K3" came:given imei:490154203237518');
    expect(wordsOf({ ...withImei, blocks: [] })).not.toContain('490154203237518');
    expect(refusalOf(bot.say('/job open "Orrin K3" came:given words:"passcode 4711"'))?.code).toBe('secret');
  });

  it('still asks whether another name was meant, and takes another phone too', () => {
    const bot = testBot();
    bot.say('/family name "Orrin K3" as:glued-front-home-sensor');
    const refused = bot.say('/worth "Orrin K2"');
    expect(refusalOf(refused)).toMatchObject({ code: 'not-found', nearest: ['Orrin K3'] });
    const another = refused.choices.find(({ label }) => label === 'Another phone: a few questions');
    expect(another && bot.say({ invoke: another.invoke }).title).toBe('How does Orrin K2 open?');
  });
});
