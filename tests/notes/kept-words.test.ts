/** Wherever a person's own words may be kept, secrets are refused and IMEIs masked: every option of every command. */
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { type Action, type Command, commandPath } from '../../commands/framework/command.ts';
import { takesWords } from '../../commands/framework/kept-words.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import { commandsWith } from '../../commands/index.ts';
import { busyBench } from '../language/every-reply.ts';
import { surfaceCommands } from '../surface-commands.ts';
import { refusalOf, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const SECRET = 'passcode 471183';
const DIGITS = /471183/;
const IMEI = '490154203237518';

interface Place {
  path: string;
  command: Command;
  name: string;
  action: Action;
  option: string;
}
const everyAction = [null, ...surfaceCommands().map(({ surface }) => surface)].flatMap((surface) => {
  const own = surfaceCommands().find((one) => one.surface === surface)?.commands ?? [];
  const commands = surface === null ? commandsWith([]) : own;
  return commands.flatMap((command) =>
    Object.entries(command.actions).map(([name, action]) => ({ command, name, action })),
  );
});
const places: Place[] = everyAction.flatMap(({ command, name, action }) =>
  Object.entries(action.options)
    .filter(([, option]) => takesWords(option))
    .map(([option]) => ({ path: `${commandPath(command, name)} ${option}:`, command, name, action, option })),
);

/** What is right for the other options: those of the first example. */
function exampleOf({ command, action }: Place): Record<string, string> {
  const [line] = action.examples;
  if (line === undefined) return {};
  try {
    return { ...parseLine(line, [command]).options };
  } catch {
    return {};
  }
}

const asking = (action: Action) => ({
  role: 'steward' as const,
  direct: action.where === 'direct',
});

const invoking = (bot: TestBot, place: Place, text: string) =>
  bot.say(
    {
      invoke: {
        command: place.command.name,
        action: place.name,
        options: { ...exampleOf(place), [place.option]: text },
      },
    },
    asking(place.action),
  );

describe('where words are kept', () => {
  const bot = busyBench('en');
  const own = places.filter(({ command }) => commandsWith([]).some(({ name }) => name === command.name));

  it.each(own.map((place) => [place.path, place] as const))('%s a passcode is refused', (_, place) => {
    const before = JSON.stringify(bot.dump());
    const reply = invoking(bot, place, SECRET);
    expect(refusalOf(reply)).toMatchObject({ code: 'secret', option: place.option });
    expect(JSON.stringify(reply)).not.toMatch(DIGITS);
    expect(JSON.stringify(bot.dump())).toBe(before);
  });

  it.each(own.map((place) => [place.path, place] as const))('%s an IMEI is masked', (_, place) => {
    const reply = invoking(bot, place, `the box says ${IMEI}`);
    expect(JSON.stringify(reply)).not.toContain(IMEI);
    expect(JSON.stringify(bot.dump())).not.toContain(IMEI);
  });

  it('in all other texts no words can be', () => {
    for (const { command, name, action } of everyAction)
      for (const [option, one] of Object.entries(action.options)) {
        if (takesWords(one) || one.wire.type !== 'text') continue;
        const read = one.schema(bot.context()).safeParse(SECRET);
        expect(read.success, `${commandPath(command, name)} ${option}`).toBe(false);
      }
  });

  it('looks at some of the places by name', () => {
    const paths = places.map(({ path }) => path);
    for (const path of [
      '/job log text:',
      '/job log oddity:',
      '/job log reading:',
      '/job answer note:',
      '/job finish note:',
      '/job open words:',
      '/trace answer says:',
      '/prices add note:',
      '/prices import file:',
      '/lot phones:',
      '/family name model:',
      '/shelf add from:',
      '/note add text:',
      '/note edit text:',
      '/read text:',
      '/as who:',
    ])
      expect(paths).toContain(path);
  });
});

describe('what is kept besides', () => {
  it('a file of prices is refused by line, with its note not repeated', () => {
    const bot = busyBench('en');
    const file = [
      'date,kind,what,component,grade,storage,price,currency,how,note',
      '2026-02-20,phone,Orrin K3,,0,64,180,AUD,sold,fine',
      `2026-02-21,phone,Orrin K3,,0,64,181,AUD,sold,${SECRET}`,
    ].join('\n');
    const reply = bot.say({ invoke: { command: 'prices', action: 'import', options: { file } } });
    expect(refusalOf(reply)).toMatchObject({ code: 'secret', lines: [{ line: 3 }] });
    expect(JSON.stringify(bot.dump())).not.toMatch(DIGITS);
  });

  it('the name that somebody goes by is cut off', () => {
    const bot = testBot();
    bot.say('/help', { as: `Kim, ${SECRET}` });
    bot.say('/help', { as: `Kim ${IMEI}` });
    const { people } = bot.dump();
    const names = z
      .array(z.object({ name: z.string() }))
      .parse(people)
      .map(({ name }) => name);
    expect(new Set(names)).toEqual(new Set(['K…', `Kim ${'•'.repeat(11)}7518`]));
  });

  it('a line that is refused for something else does not repeat it', () => {
    const bot = testBot();
    for (const line of [
      `/job log text:x nothing:"${SECRET}"`,
      `/jbo log ${SECRET}`,
      `/job log minutes:"${SECRET}"`,
      `/worth "${SECRET}"`,
    ]) {
      const reply = bot.say(line);
      expect(reply.outcome, line).toBe('refused');
      expect(JSON.stringify(reply), line).not.toMatch(DIGITS);
    }
  });

  it('says in a room that the message should be taken back, and not in a direct message', () => {
    const bot = busyBench('en');
    expect(wordsOf(bot.say(`/job log "${SECRET}" job:6`))).toContain('Take your message back');
    expect(wordsOf(bot.say(`/note add "${SECRET}"`, { direct: true }))).not.toContain(
      'Take your message back',
    );
  });
});
