/** A workshop room at the homeserver: the bot, Ines who is a steward there, and Moss who is not. */
import { randomBytes } from 'node:crypto';
import { inject } from 'vitest';
import type { MatrixSettings } from '../../src/surfaces/matrix/settings.ts';
import type { MatrixParts } from '../../src/surfaces/matrix/start.ts';
import { type Bot, startBot } from './bot.ts';
import { type AnyPerson, type Person, personOf, type Seen } from './people.ts';
import { type Account, type Accounts, accountsOf } from './synapse.ts';

export const homeserver = inject('homeserver');
/** Where Synapse cannot be had, the tests are skipped. */
export const absent = homeserver === null;

export interface Scene {
  url: string;
  accounts: Accounts;
  bot: Bot;
  botAccount: Account;
  ines: Person;
  moss: Person;
  room: string;
  /** A new person, in no room yet. */
  person(name: string): Promise<Person>;
  /** The bot's next message from now on, in a room, that says so. */
  hears(who: AnyPerson, room: string, says: RegExp | string, after?: number): Promise<Seen>;
  /** Says a line to the bot, and gives the bot's answer to it. */
  ask(who: AnyPerson, room: string, line: string): Promise<Seen>;
  /** What the bot says in a room in answer to an event. */
  answerTo(who: AnyPerson, room: string, eventId: string): Promise<Seen>;
  /** All that the bot has said in answer to an event, after a moment for more to come. */
  answersTo(who: AnyPerson, eventId: string): Seen[];
  /** Throws when the bot says anything in the room within a second and a half. */
  staysSilent(who: AnyPerson, room: string, work: () => Promise<unknown>): Promise<void>;
  end(): Promise<void>;
}

const unique = (name: string): string => `${name}-${randomBytes(3).toString('hex')}`;
const words = (seen: Seen): string => seen.content.body ?? '';

export async function openScene(
  settings: Partial<MatrixSettings> = {},
  parts: Partial<MatrixParts> = {},
  at: { url: string; secret: string } | null = homeserver,
  botUrl?: string,
): Promise<Scene> {
  if (!at) throw new Error('there is no homeserver');
  const accounts = accountsOf(at.url, at.secret);
  const botAccount = await accounts.register(unique('thirdhand'));
  const bot = await startBot(botUrl ?? at.url, botAccount, settings, parts);
  const people: Person[] = [];
  const person = async (name: string): Promise<Person> => {
    const made = await personOf(at.url, await accounts.register(unique(name)));
    people.push(made);
    return made;
  };
  const ines = await person('ines');
  const moss = await person('moss');
  const isBots = (seen: Seen, room: string) =>
    seen.sender === botAccount.id && seen.room === room && seen.type === 'm.room.message';
  const answers = (eventId: string) => (seen: Seen) =>
    seen.sender === botAccount.id && seen.content['m.relates_to']?.['m.in_reply_to']?.event_id === eventId;

  const scene: Scene = {
    url: at.url,
    accounts,
    bot,
    botAccount,
    ines,
    moss,
    room: '',
    person,
    hears: (who, room, says, after) =>
      who.sees(
        (seen) =>
          isBots(seen, room) &&
          (typeof says === 'string' ? words(seen).includes(says) : says.test(words(seen))),
        `the bot saying ${says}`,
        after,
      ),
    answerTo: (who, room, eventId) =>
      who.sees((seen) => isBots(seen, room) && answers(eventId)(seen), `an answer to ${eventId}`),
    ask: async (who, room, line) => scene.answerTo(who, room, await who.say(room, line)),
    answersTo: (who, eventId) => who.seen.filter(answers(eventId)),
    staysSilent: async (who, room, work) => {
      // One person's sync may be behind another's: what anybody has seen by now was said before.
      const known = new Set([...people, who].flatMap((one) => one.seen.map((seen) => seen.event_id)));
      await work();
      await new Promise((resolve) => setTimeout(resolve, 1500));
      const said = who.seen.filter((seen) => !known.has(seen.event_id) && isBots(seen, room));
      if (said.length) throw new Error(`the bot said ${JSON.stringify(said.map(words))}`);
    },
    end: async () => {
      for (const one of people) one.stop();
      await bot.stop();
    },
  };
  const room = await ines.makesRoom({ name: unique('Tin Shed'), invite: [botAccount.id, moss.id] });
  scene.room = room;
  await moss.joinsInvite();
  await scene.hears(ines, room, 'Thirdhand is here');
  await scene.ask(ines, room, '!th setup currency:AUD region:AU zone:Australia/Sydney');
  await scene.ask(
    ines,
    room,
    '!th family name model:"Orrin K3" as:glued-front-home-sensor launched:2020-01 new-price:749',
  );
  return scene;
}
