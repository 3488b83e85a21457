/** Every command as people might say it, right and wrong: what the bot can be brought to say. */
import type { Command } from '../../commands/framework/command.ts';
import type { Option } from '../../commands/framework/option.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import type { Invocation, Reply } from '../../commands/framework/reply.ts';
import type { Request } from '../../commands/framework/request.ts';
import { commandsWith } from '../../commands/index.ts';
import { surfaceCommands } from '../surface-commands.ts';
import { type Saying, type TestBot, testBot } from '../test-bot.ts';

export interface Said {
  /** What was said, to be found again. */
  line: string;
  reply: Reply;
}

/** A bench with models, sightings, a traced fault, and jobs open, held and closed. */
const before = [
  '/family name "Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:699',
  '/family name "Tarn 8" as:budget-port-on-board launched:2019-03 new-price:299',
  '/family name "Halden Fold" as:fold-book launched:2023-09 new-price:1899',
  ...[180, 165, 172].map((price) => `/prices add "Orrin K3" price:${price} how:sold condition:good`),
  '/prices add "Orrin K3" component:battery price:24 grade:original',
  '/trace "no touch" model:"Orrin K3"',
  '/trace stop trace:1',
  '/job open "Tarn 8" symptoms:swollen came:left',
  '/job open "Halden Fold" symptoms:lines-or-spots came:left ownership:shown lock:free stolen:clear',
  '/job open "Tarn 8" symptoms:no-charge came:given',
  '/job finish handed-back job:3',
  '/job open "Tarn 8" symptoms:wet came:bought price:12',
  '/job open "Orrin K3" symptoms:cracked-glass came:given ownership:shown lock:free stolen:clear data:clear',
  '/job test job:5 pass:"start, display, touch, charge, battery, front-camera, rear-camera, microphones, speaker, earpiece, headset, sensors, radios, position, sim, buttons, vibration, fingerprint"',
  '/job answer data:purge job:5',
  '/job finish restored page:seen job:5 sold:120',
  '/job open "Orrin K3" symptoms:dead came:bought price:20 ownership:shown lock:free stolen:clear',
  '/trace job:6',
  '/trace dead model:"Orrin K3"',
  '/swap battery effect:notice of:"Orrin K3" grade:used saw:"health hidden"',
  '/shelf add battery of:"Orrin K3" grade:copy price:14 place:"drawer B" count:7',
  ...[1, 2, 3, 4].map((pin) => `/reading add "Orrin K3" reading:"0.4${pin} V battery ${pin}"`),
];

/** Such a bench, which speaks a language. */
export function busyBench(language: string): TestBot {
  const bot = testBot();
  bot.say(`/setup language:${language}`, { role: 'steward' });
  for (const line of before) {
    const { outcome, title } = bot.say(line, { role: 'steward' });
    if (outcome !== 'answered') throw new Error(`${line}: ${title}`);
  }
  return bot;
}

const wrong = ({ wire }: Option): string[] => {
  switch (wire.type) {
    case 'text':
      return ['', 'x'.repeat(5000), 'viel', '-1', '99999999999', '1,2,3'];
    case 'choice':
      return ['', 'zzz'];
    case 'integer':
    case 'number':
      return ['', 'zzz', '-7', '1e9', String(wire.max + 1)];
    case 'lookup':
      return ['', 'qqqq', '77777', 'K3'];
    case 'file':
      return ['', 'a,b\n1,2', 'date,kind,what\n2026-13-01,phone,Nope\n'];
    case 'native':
      return ['', 'a b'];
  }
};

const badLines = [
  '',
  '/',
  '/zzz',
  '/hlp',
  'job',
  '/job zzz',
  '/job show 77777',
  '/job show colour:red',
  '/job show "1',
  '/worth "Orrin K3" price:1 price:2',
  '/worth model:',
  '/trace answer',
];

/** Examples speak of things that are not there: of those that are instead. */
export const here = (example: string): string =>
  example.replace(/\bjob([: ])12\b/, 'job$16').replace(/^(\/prices remove) 12$/, '$1 2');

/** How deep choices are followed, and how many at each reply. */
const DEPTH = 2;
const MOST_CHOICES = 8;

/** Commands that are about a place are said in one. */
const places: Readonly<Record<string, { platform: string; id: string; channel?: string }>> = {
  server: { platform: 'discord', id: '7', channel: '8' },
  room: { platform: 'matrix', id: '!workshop:shed.test' },
};

/** Those of every surface and those of one alone. */
function allCommands(bot?: () => TestBot): readonly Command[] {
  const own = surfaceCommands(
    () => (bot ?? testBot)().database,
    () => (bot ? [bot().collective] : []),
  ).flatMap(({ commands }) => commands);
  return commandsWith([...new Map(own.map((command) => [command.name, command])).values()]);
}

/** Everything that is said, in the language, by steward, member and visitor, in the room and alone. */
export function everyReply(language: string): Said[] {
  const found: Said[] = [];
  const fresh = () => busyBench(language);
  const told = (bot: TestBot, what: Request['say'], line: string, how: Saying, depth = 0): void => {
    const place = places[/^\/(\w+)/.exec(line)?.[1] ?? ''];
    const reply = bot.say(what, place && !how.direct ? { ...how, place } : how);
    found.push({ line, reply });
    // Where another language was chosen, back to this one.
    if (line.startsWith('/setup')) bot.say(`/setup language:${language}`, { role: 'steward' });
    if (depth >= DEPTH) return;
    for (const { token, label } of reply.choices.slice(0, MOST_CHOICES))
      if (token) told(bot, { token }, `${line} > ${label}`, how, depth + 1);
  };
  for (const line of before) {
    const bot = fresh();
    told(bot, { line }, line, { role: 'steward' });
  }
  const commands = allCommands();
  for (const command of commands) {
    for (const [name, action] of Object.entries(command.actions)) {
      const bot = fresh();
      const direct = action.where === 'direct';
      const invoke = (options: Readonly<Record<string, string>>): Invocation => ({
        command: command.name,
        action: name,
        options: { ...options },
      });
      for (const line of action.examples.map(here)) {
        told(fresh(), { line }, line, { role: 'steward', direct });
        for (const how of [
          { role: 'visitor', direct },
          { role: 'steward', direct: !direct },
        ] as const)
          told(bot, { line }, line, how, DEPTH);
      }
      const given = parseLine(here(action.examples[0] ?? ''), commands).options;
      told(bot, { invoke: invoke({}) }, `/${command.name} ${name}`, { role: 'steward', direct }, DEPTH);
      for (const [option, spec] of Object.entries(action.options)) {
        const { [option]: _, ...rest } = given;
        const values = [undefined, spec.example, ...wrong(spec)];
        for (const value of values) {
          const asked = invoke(value === undefined ? rest : { ...rest, [option]: value });
          const line = `/${command.name} ${name} ${option}:${(value ?? '').slice(0, 20)}`;
          told(bot, { invoke: asked }, line, { role: 'steward', direct }, DEPTH);
        }
      }
      told(
        bot,
        { invoke: invoke({ ...given, zzz: '1' }) },
        `/${command.name} ${name} zzz:1`,
        { direct },
        DEPTH,
      );
    }
  }
  const bot = fresh();
  for (const line of badLines) told(bot, { line }, line, {}, DEPTH);
  for (const { name } of commands) told(bot, { line: `/help ${name}` }, `/help ${name}`, {}, DEPTH);
  told(bot, { token: 'gone' }, 'a choice that is gone', {}, DEPTH);
  return found;
}
