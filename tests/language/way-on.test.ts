import { beforeEach, describe, expect, it } from 'vitest';
import { commands } from '../../commands/index.ts';
import { refusalOf, type TestBot, testBot } from '../test-bot.ts';
import { everyRefusal } from './every-refusal.ts';

const known = (command: string, action: string, options: object): boolean => {
  const found = commands.find(({ name }) => name === command)?.actions[action];
  return found !== undefined && Object.keys(options).every((name) => name in found.options);
};

describe('every refusal', () => {
  it('has a way on that can be run, and help', () => {
    const refused = everyRefusal('en').filter(({ reply }) => reply.outcome === 'refused');
    expect(refused.length).toBeGreaterThan(150);
    const codes = new Set<string>();
    for (const { line, reply } of refused) {
      const code = refusalOf(reply)?.code ?? '';
      // Only time helps there, or nobody knows whose bot it is.
      if (code === 'rate-limited' || code === 'no-collective') continue;
      codes.add(code);
      expect(
        reply.choices.map(({ invoke }) => invoke.command),
        line,
      ).toContain('help');
      for (const { invoke } of reply.choices)
        expect(
          known(invoke.command, invoke.action, invoke.options),
          `${line}: ${JSON.stringify(invoke)}`,
        ).toBe(true);
    }
    expect(codes.size).toBeGreaterThan(8);
  });
});

describe('what was typed', () => {
  let bot: TestBot;
  beforeEach(() => {
    bot = testBot();
    for (const name of ['Orrin K3', 'Orrin K4'])
      bot.say(`/family name model:"${name}" as:glued-front-home-sensor new-price:700`);
  });
  const taps = (line: string) => bot.say(line).choices.map(({ label }) => label);
  const tap = (line: string, label: string) => {
    const { choices } = bot.say(line);
    const found = choices.find((choice) => choice.label === label);
    if (!found) throw new Error(`no ${label} among ${choices.map((one) => one.label).join()}`);
    return bot.say({ invoke: found.invoke });
  };

  it('is kept where one word was wrong: the nearest is run with the rest', () => {
    expect(tap('/worth "Orrin K" price:20', 'Orrin K4').title).toContain('Orrin K4');
    expect(tap('/wort "Orrin K3" price:20', '/worth').title).toContain('Orrin K3');
  });
  it('is kept where something was missing: it can be picked', () => {
    expect(taps('/worth price:20')).toContain('Orrin K3');
    expect(tap('/worth price:20', 'Orrin K3').title).toContain('Orrin K3: it works');
  });
  it('that was no answer leaves the open question with its answers', () => {
    bot.say('/trace start "dead, no charge" model:"Orrin K3"');
    expect(taps('/trace answer perhaps')).toEqual(
      expect.arrayContaining(['it charges', 'it does not', '/trace show 1']),
    );
    expect(tap('/trace answer perhaps', 'it does not').outcome).toBe('answered');
  });
  it('is kept nowhere by the refusal itself', () => {
    const before = bot.dump();
    bot.say('/worth price:20');
    expect(bot.dump()).toEqual(before);
  });
  it('is not offered again where it is private, or must not be kept', () => {
    const labels = (line: string, direct = false) =>
      bot.say(line, { direct }).choices.map(({ label }) => label);
    expect(labels('/noet add my own words')).toEqual(['What you can say']);
    expect(labels('/note edit 99 my own words', true)).toEqual(['Help on /note']);
    expect(labels('/worth price:20 symptoms:"passcode 4711"')).toEqual(['Help on /worth']);
  });
});
