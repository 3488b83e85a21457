/** That what the bot tells people to say can be said on Discord: options by their names, and commands that can be pressed. */
import { afterEach, describe, expect, it } from 'vitest';
import { commandPath } from '../../commands/framework/command.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import { inWords, reply, text } from '../../commands/framework/reply.ts';
import { commandsWith } from '../../commands/index.ts';
import { withLocale } from '../../shared/language/locale.ts';
import { typed } from '../../shared/language/say.ts';
import { messagesOf } from '../../src/surfaces/discord/outgoing.ts';
import { registrations } from '../../src/surfaces/discord/registration.ts';
import { discordCommands } from '../../src/surfaces/discord/server-command.ts';
import { wordingOf } from '../../src/surfaces/discord/wording.ts';
import { everyRefusal } from '../language/every-refusal.ts';
import { busyBench } from '../language/every-reply.ts';
import { type Stage, stage, wordsOn } from './bot.ts';
import { readMarkup } from './markup.ts';

const own = discordCommands(() => {
  throw new Error('not connected');
});
const all = commandsWith(own);
const idOf = (name: string): string => String(100 + all.findIndex((one) => one.name === name));

/** The paths that a client lists: "trace start", "worth". */
const listed = new Map(
  registrations(commandsWith([])).flatMap(({ type, name, options = [] }) => {
    const subs = options.filter((option) => option.type === 1);
    const path = (sub: string) => [`${name} ${sub}`.trim(), idOf(name)] as const;
    return type === 1 ? (subs.length ? subs.map((sub) => path(sub.name)) : [path('')]) : [];
  }),
);
const MENTION = /<\/([a-z -]+):(\d+)>/g;

/** What is shown of a reply with these ids, messages' texts and descriptions of cards. */
function shownOf(made: Parameters<typeof messagesOf>[0], ids: (name: string) => string | undefined) {
  const messages = messagesOf(wordingOf(all)(made, ids), [], { command: 'help', request: null });
  return messages.flatMap(({ body }) => [
    body.content,
    ...body.embeds.flatMap(({ title = '', description = '' }) => [title, description]),
  ]);
}
const lineAsShown = (line: string, ids: (name: string) => string | undefined): string =>
  shownOf(
    withLocale('en', () =>
      inWords(reply({ title: typed('Next'), blocks: [text(typed(`For example: ${line}`))] })),
    ),
    ids,
  )
    .at(-1)
    ?.replace(/^For example: /, '') ?? '';

const examples = all.flatMap((command) =>
  Object.entries(command.actions).flatMap(([action, { examples: lines, options }]) =>
    lines.map((line) => ({
      line,
      path: commandPath(command, action),
      command,
      action,
      names: Object.keys(options),
    })),
  ),
);

describe('an example', () => {
  it.each(examples)('$line is drawn with each option by its name', ({ line, command, action, names }) => {
    const drawn = readMarkup(lineAsShown(line, () => undefined)).shown;
    const [path = '', rest = ''] = drawn.split(/(?<=^\/[a-z-]+(?: [a-z-]+)?)(?= [a-z-]+:|$)/);
    expect(listed.has(path.slice(1))).toBe(true);
    const given = rest.split(new RegExp(`(?:^| )(${names.join('|') || 'none'}): `)).slice(1);
    const read = Object.fromEntries(
      given.flatMap((name, index): [string, string][] => (index % 2 ? [] : [[name, given[index + 1] ?? '']])),
    );
    const said = parseLine(line, all);
    expect([said.command, said.action]).toEqual([command.name, action]);
    expect(read).toEqual(said.options);
  });
  it('opens its command where its id is known', () => {
    expect(lineAsShown('/trace dead model:"Orrin K3"', idOf)).toBe(
      `</trace start:${idOf('trace')}> symptoms: dead model: Orrin K3`,
    );
  });
});

describe('all that the bot says', () => {
  it.each(['en', 'de'])(
    'names commands that can be pressed, and nothing that cannot be typed, in %s',
    (language) => {
      const bot = busyBench(language);
      const helps = all.map(({ name }) => `/help ${name}`);
      const shows = [
        '/help',
        '/trace show 2',
        '/trace list',
        '/job show job:6',
        '/job list',
        '/week preview',
      ];
      const answered = [...helps, ...shows].map((line) => ({ line, reply: bot.say(line) }));
      const said = [...answered, ...everyRefusal(language)];
      let mentions = 0;
      for (const { line, reply: made } of said) {
        for (const shown of shownOf(made, idOf)) {
          for (const [, path = '', id] of shown.matchAll(MENTION)) {
            mentions += 1;
            expect([path, id], line).toEqual([path, listed.get(path)]);
          }
          expect(shown, line).not.toMatch(/[\uE000\uE001]/);
          // As on a command line: an option with a quoted value, or one that needs no name.
          expect(readMarkup(shown.replace(/```[\s\S]*?```/g, '')).shown, line).not.toMatch(
            /\/(?:trace|job|worth|paired|family|prices) [^.;]*[a-z-]:"/,
          );
        }
      }
      expect(mentions).toBeGreaterThan(200);
    },
  );
});

describe('the ids of commands', () => {
  let on: Stage | undefined;
  afterEach(async () => {
    expect(await on?.close()).toEqual([]);
  });
  const registeredId = (stageOn: Stage, name: string): string =>
    [...(stageOn.loopback.world.commands.get('global')?.values() ?? [])]
      .filter((one) => one.name === name)
      .map(({ id }) => String(id))[0] ?? '';
  const asking = (stageOn: Stage) =>
    stageOn.loopback.log.filter(({ method, path }) => method === 'GET' && /\/commands/.test(path)).length;

  it('are asked once, and drawn in what is refused', async () => {
    on = await stage();
    const before = asking(on);
    const seen = await on.moss.use('trace', 'show', { trace: '77' });
    expect(wordsOn(seen.message)).toContain(`</trace list:${registeredId(on, 'trace')}>`);
    await on.moss.use('job', 'show', {});
    expect(asking(on)).toBe(before);
  });
  it('that Discord does not tell leave plain words', async () => {
    on = await stage();
    on.loopback.faults.push({ method: 'GET', path: /\/applications\/\d+\/commands/, do: { status: 403 } });
    await on.restart();
    expect(on.faults).toHaveLength(1);
    const words = wordsOn((await on.moss.use('trace', 'show', { trace: '77' })).message);
    expect(words).toContain('/trace list');
    expect(readMarkup(words).markup).not.toContain('command');
  });
  it('are those of a server where they are registered there alone', async () => {
    on = await stage();
    const { commands } = on.loopback.world;
    commands.set(on.server.id, commands.get('global') ?? new Map());
    commands.delete('global');
    await on.restart();
    const seen = await on.moss.use('trace', 'show', { trace: '77' });
    const [, id] = /<\/trace list:(\d+)>/.exec(wordsOn(seen.message)) ?? [];
    expect([...(commands.get(on.server.id)?.values() ?? [])].find((one) => one.id === id)?.name).toBe(
      'trace',
    );
  });
});
