/** Every example of the help, said on Matrix: the answer is what the core says to the same words, drawn for Matrix. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands, commandsWith } from '../../commands/index.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { isUrgent } from '../../src/surfaces/matrix/render.ts';
import { asSaidHere } from '../../src/surfaces/matrix/wording.ts';
import { cleanLine } from '../../src/surfaces/text.ts';
import { testSealer } from '../sealer.ts';
import { surfaceCommands } from '../surface-commands.ts';
import { knowledge } from '../test-bot.ts';
import { absent, openScene, type Scene } from './scene.ts';

const csv = 'date,kind,what,component,grade,storage,price,currency,how,note\n';
const here = commandsWith(surfaceCommands().find(({ surface }) => surface === 'Matrix')?.commands ?? []);
const names = here.map(({ name }) => name);
/** The numbers that the examples made up, as they come to be here: each kind of thing begins at 1. */
const asNumberedHere = (line: string): string =>
  line
    .replace(/\bjob:12\b/, 'job:1')
    .replace(/\btrace:3\b/, 'trace:1')
    .replace(/^(\/job|\/prices remove) 12\b/, '$1 1')
    .replace(/^(\/reading remove) 4\b/, '$1 1')
    .replace(/^(\/shelf arrived) 7\b/, '$1 3')
    .replace(/^(\/shelf \w+) 7\b/, '$1 1')
    .replace(/^(\/note edit|\/note erase|\/swap aside|\/trace show) 3\b/, '$1 1');
const examples = commands.flatMap(({ actions }) =>
  Object.values(actions).flatMap(({ examples: lines, where }) =>
    lines.map((line) => ({ line: asNumberedHere(line), direct: where === 'direct' })),
  ),
);
/** A title without the one-time word in it, which is another each time. */
const withoutWord = (title: string): string => title.split(/[A-Z2-9]{4}-[A-Z2-9]{4}/)[0] ?? '';

describe.skipIf(absent)('every example of every command', () => {
  let scene: Scene;
  let direct = '';
  /** The core on a store of its own, to which the same is said in the same order. */
  let core: (line: string, isDirect: boolean) => Reply;
  beforeAll(async () => {
    scene = await openScene();
    const { ines, bot, room } = scene;
    direct = await ines.client.createRoom({ is_direct: true, invite: [bot.surface.id] });
    await scene.hears(ines, direct, 'Thirdhand is here');
    const database = openDatabase(':memory:', testSealer);
    const name = bot.database.collectives.list()[0]?.name ?? '';
    const { id: collective } = database.collectives.create(name);
    const place = { platform: 'matrix', id: room };
    database.channelBindings.bind({ ...place, collective, kind: 'room' }, new Date());
    const faults: unknown[] = [];
    const dispatcher = createDispatcher({
      database,
      knowledge: knowledge(),
      commands: here,
      makeId: randomUUID,
      log: (_, error) => faults.push(error),
    });
    const person = { key: `matrix:${ines.id}`, name: ines.id.slice(1).split(':')[0] ?? '' };
    core = (line, isDirect) => {
      const { command, action, options } = parseLine(line, commands);
      const said = dispatcher.handle({
        collective,
        person: { ...person, role: 'steward' },
        direct: isDirect,
        now: new Date(),
        ...(isDirect ? {} : { place }),
        say: {
          invoke: { command, action, options: options.file === undefined ? options : { file: csv } },
        },
      });
      expect(faults).toEqual([]);
      return said;
    };
    core('/setup currency:AUD region:AU zone:Australia/Sydney', false);
    core('/family name "Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749', false);
  });
  afterAll(() => scene?.end());

  const say = async (line: string, isDirect: boolean): Promise<string> => {
    const { ines, room } = scene;
    const body = isDirect ? line.slice(1) : `!th ${line.slice(1)}`;
    if (!line.startsWith('/prices import') && !line.startsWith('/records import'))
      return ines.say(isDirect ? direct : room, body);
    const url = await ines.client.uploadContent(Buffer.from(csv), 'text/csv', 'prices.csv');
    return ines.client.sendRawEvent(room, 'm.room.message', {
      msgtype: 'm.file',
      filename: 'prices.csv',
      body,
      url,
    });
  };

  // A photo has a test of its own: what is a photo here is a text to the core.
  it.each(examples.filter(({ line }) => !line.startsWith('/job photo ')))(
    '$line',
    async ({ line, direct: isDirect }) => {
      const { ines, bot, room, answerTo, hears } = scene;
      const wanted = asSaidHere(core(line, isDirect), '!th', names);
      const before = ines.seen.length;
      const event = await say(line, isDirect);
      const answer = await answerTo(ines, isDirect ? direct : room, event);
      const body = answer.content.body ?? '';
      const title = withoutWord(cleanLine(wanted.title));
      if (wanted.outcome === 'answered' && wanted.audience === 'asker' && !isDirect) {
        expect(body).toContain('I answered you in our direct room');
        await hears(ines, direct, title, before);
      } else if (wanted.outcome === 'answered') expect(body).toContain(title);
      // What can be asked for is asked for; anything else is refused with the same words.
      else if (!/^▸ Which .*\?$/m.test(body)) expect(body).toContain(title);
      const told = body.includes(title);
      expect(answer.content.msgtype).toBe(told && isUrgent(wanted) ? 'm.text' : 'm.notice');
      expect(answer.content['m.mentions']).toEqual({});
      expect(bot.logged).toEqual([]);
      // Five refusals in a row are answered with silence: something that is answered comes between.
      if (wanted.outcome !== 'answered' || /^[✗▸]/.test(body))
        await answerTo(ines, isDirect ? direct : room, await say('/help', isDirect));
    },
  );
});
