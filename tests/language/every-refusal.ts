/** What each command refuses, brought about on purpose: what `everyReply` does not come upon by itself. */
import type { Reply } from '../../commands/framework/reply.ts';
import { interimSealer } from '../../shared/sealing/sealer.ts';
import { type Saying, type TestBot, testBot } from '../test-bot.ts';
import { busyBench, type Said } from './every-reply.ts';

type Line = string | readonly [line: string, how: Saying];
interface Scene {
  /** Said before, and answered. */
  first?: readonly Line[];
  refused: readonly Line[];
}

const direct: Saying = { direct: true };
const visitor: Saying = { role: 'visitor' };
const later: Saying = { now: new Date('2026-09-02T09:00:00Z') };
const header = 'date,kind,what,component,grade,storage,price,currency,how,note';

/** On the busy bench: job 1 is suspect, 4 wet, 5 closed, 6 open with trace 2, trace 3 without a job. */
const scenes: readonly Scene[] = [
  {
    refused: [
      '/worth symptoms:dead',
      '/worth "Orrin K3" price:1 damage:hinge-assembly',
      '/worth "Orrin K3" price:"1 USD"',
      '/worth "Orrin K3" price:1.234',
      '/worth "Orrin K3" condition:odd',
      '/trace dead',
      '/trace model:"Orrin K3"',
      '/trace "lines or spots, foil lifting at the fold" model:"Orrin K3"',
      '/trace show 77',
      '/trace back trace:3',
      '/trace answer maybe trace:3',
      '/trace answer works step:"Open and fold it slowly" trace:3',
      '/job log trace:2 job:2',
      ['/setup rate:99999999', { role: 'steward' }],
      '/trace answer x trace:1',
      ['/trace answer works', { as: 'Wren' }],
      '/job open',
      '/job open imei:490154203237518',
      '/job open imei:11111111111111',
      '/job open "Orrin K3" imei:490154203237519',
      '/job open "Orrin K3" came:given price:20',
      '/job answer job:6',
      '/job log job:6',
      '/job log for:part job:6',
      '/job log grade:copy minutes:5 job:6',
      '/job log fitted:battery job:6',
      '/job log fitted:hinge-assembly grade:used job:6',
      '/job log trace:9 job:6',
      '/job log reading:warm job:6',
      '/job log minutes:5 job:3',
      '/job log fitted:battery grade:copy job:1',
      '/job test pass:hinge job:6',
      '/job test pass:seal job:6',
      '/job test pass:display fail:display job:6',
      '/job test waive:radios job:6',
      '/job test pass:charge job:4',
      '/job finish restored sold:1 job:6',
      '/job finish passed parts:"front camera" job:6',
      '/job finish stripped parts:hinge-assembly job:6',
      '/job finish passed fault:hinge-worn job:6',
      '/job finish restored sold:1 worth:5 job:6',
      '/job sell off:yes job:6',
      '/job returned 3',
      '/job returned 6',
      '/job returned 5 failed:hinge-assembly',
      '/job take job:6',
      ['/job hand Ines job:6', { as: 'Bram' }],
      '/job hand Nobody job:6',
      '/job hand job:6',
      '/job photo front.jpg job:6',
      '/job photos job:6 erase:9',
      '/job hand name:Ines job:6',
      '/job strike 99 why:x job:6',
      '/job reopen why:x',
      '/job reopen x job:6',
      ['/job reopen x job:5', { as: 'Bram' }],
      '/job sheet job:3',
      '/job show job:77',
      ['/job show', { as: 'Wren' }],
      '/paired "Orrin K3" component:hinge-assembly',
      '/swap battery effect:free grade:used',
      '/swap battery effect:free of:"Orrin K3"',
      '/swap hinge-assembly effect:free of:"Orrin K3" grade:used',
      ['/swap aside 9 why:x', { role: 'steward' }],
      '/reading remove 99',
      ['/reading remove 1', { as: 'Bram' }],
      '/reading add "Orrin K3" reading:"lots"',
      '/danger show job:77',
      '/danger show trace:77',
      '/danger isolated job:6',
      '/danger handed-over job:6',
      '/danger new-cell job:6',
      '/danger cleaned job:6',
      '/danger withdraw swollen why:x job:6',
      '/danger withdraw swollen why:x job:1',
      '/prices add "Orrin K3" price:0',
      '/prices add "Orrin K3" price:1 component:battery',
      '/prices add "Orrin K3" price:1 grade:copy',
      '/prices add "Orrin K3" price:1 component:battery grade:copy condition:good',
      '/prices add "Orrin K3" price:1 component:battery grade:copy storage:64',
      '/prices add "Orrin K3" price:1 seen:2027-01-01',
      '/prices add "Orrin K3" price:1 seen:never',
      '/prices add "Orrin K3" price:1 seen:1980-01-01',
      '/prices add "Orrin K3" price:99999999',
      '/job wait part until:2299-01-01 job:6',
      '/family guess "0rrin K3"',
      `/prices import "${header}\n2026-02-20,phone,Orrin K3,,1,64,180.00,AUD,sold,passcode 4711"`,
      '/family name "Orrin K4" as:fold-book launched:1980-01',
      '/job timer minutes:5 job:6',
      '/job wait part until:2020-01-01 job:6',
      '/trace note denied:dead trace:3',
      '/shelf add battery of:"Orrin K3" grade:used job:6 due:2026-04-01',
      ['/prices remove 1', { as: 'Wren' }],
      '/prices remove 77',
      '/prices import nothing',
      '/records import nothing',
      ['/records export 2026 seen:x', { role: 'steward' }],
      `/prices import "${header}\n2026-02-20,phone,Nope,,1,64,180.00,AUD,sold,"`,
      `/prices import "${header}\n2026-02-20,radio,Nope,,1,64,180.00,USD,sold,\n2026-02-20,part,Nope,x,,,1,AUD,lent,"`,
      ['/week post 2026-W10', { role: 'steward' }],
      ['/week post 2031-W10', { role: 'steward' }],
      ['/week post soon', { role: 'steward' }],
      '/family forget "Orrin K3"',
      `/family name "Orrin\u200bK3" as:fold-book`,
      '/family name "a:b" as:fold-book',
      '/family name fold-book as:fold-book',
      '/family name "Orrin K4" as:fold-book launched:2031-01',
      '/family name "Orrin K4" as:fold-book new-price:0',
      '/family name "Orrin\u0007K4" as:fold-book',
      '/setup rate:50',
      ['/setup currency:EUR', { role: 'steward' }],
      ['/setup link word:ABCD-EFGH-JKLM', { role: 'steward' }],
      '/help wurth',
      ['/note add x', visitor],
      ['/note add "passcode 4711"', direct],
      ['/note add "card 4111 1111 1111 1111"', direct],
      ['/note add "unlock pattern 1-4-7-8"', direct],
      ['/note add "password: Quince12"', direct],
      ['/note add "recovery code 8842 1177"', direct],
      ['/note add x job:77', direct],
      ['/note edit 1', direct],
      ['/note edit 9 text:x', direct],
      ['/note erase 9', direct],
      ['/note add x: y:', direct],
      ['/note nonsense:1 x', direct],
      '/note add x',
      '/notes x',
      '/mydata export',
      'hello',
      '/wurth',
      '/week soon',
      '/job list 5 colour:red',
      '/week on now',
      '/job show job:1 job:2',
      `/help ${'x'.repeat(4100)}`,
    ],
  },
  {
    first: ['/job returned 5'],
    refused: ['/job returned 5'],
  },
  {
    first: [['/note add x job:5', direct]],
    refused: [
      ['/note edit 1', direct],
      ['/note add x job:5', { ...direct, ...later }],
    ],
  },
  {
    first: [
      '/trace dead model:"Orrin K3" words:"a remark of its own"',
      '/swap battery effect:notice of:"Orrin K3" grade:used saw:"a remark"',
    ],
    refused: [
      ['/trace wipe', { as: 'Bram' }],
      ['/swap wipe 2', { as: 'Bram' }],
      '/swap wipe 99',
      '/trace wipe 3',
      '/danger wipe job:6',
    ],
  },
  {
    first: ['/swap battery effect:notice of:"Orrin K3" grade:used saw:"a remark"', '/swap wipe 2'],
    refused: ['/swap wipe 2'],
  },
  {
    first: ['/job log "a remark of its own" job:6', '/job wipe 5 job:6'],
    refused: ['/job wipe 5 job:6'],
  },
  {
    first: ['/job reopen x job:5', '/job log "a remark" job:6', '/job strike 2 why:x job:6'],
    refused: [
      ['/job strike 3 why:x job:6', { as: 'Bram' }],
      ['/job wipe 2 job:6', { as: 'Bram' }],
      '/job wipe 99 job:6',
      '/job wipe 1 job:6',
      '/job strike 2 why:x job:6',
      // Its end and its reopening are among them.
      ...Array.from({ length: 6 }, (_, index) => `/job strike ${index + 23} why:x job:5`),
    ],
  },
  {
    first: [['/swap aside 1 why:x', { role: 'steward' }], '/trace answer nothing trace:3'],
    refused: [
      ['/swap aside 1 why:x', { role: 'steward' }],
      '/trace answer nothing step:"Forced restart" trace:3',
    ],
  },
  {
    first: [
      '/trace start job:1',
      '/trace start job:4',
      '/job open "Orrin K3" symptoms:dead came:given',
      '/trace start job:7',
    ],
    refused: [
      '/trace answer nothing trace:4',
      '/trace answer works step:"Current at the charger" trace:5',
      '/trace answer works step:"New charging chip" trace:6',
    ],
  },
  {
    first: [
      '/job timer job:6',
      '/shelf add battery of:"Orrin K3" grade:copy price:10',
      '/shelf add battery of:"Orrin K3" grade:copy price:10',
      '/shelf take 1 job:6',
    ],
    refused: [
      ['/job timer job:6', later],
      '/shelf take 2 job:2',
      ...Array.from({ length: 6 }, (_, index) => `/job strike ${index + 2} why:x job:6`),
    ],
  },
];

/** Refusals that take more than a line. */
const staged: readonly { line: string; says: (language: string) => Reply }[] = [
  {
    line: 'of a collective that there is not',
    says: (language) => {
      const { dispatcher, now } = testBot();
      const person = { key: 'terminal:Ines', name: 'Ines', role: 'steward' as const };
      return dispatcher.handle({
        collective: 'Barn',
        person,
        direct: true,
        now,
        locale: language,
        say: { line: '/help' },
      });
    },
  },
  {
    line: 'an action that there is not',
    says: (language) => busyBench(language).say({ invoke: { command: 'week', action: 'zzz', options: {} } }),
  },
  {
    line: "somebody else's choice",
    says: (language) => {
      const bot = busyBench(language);
      const offered = bot.say('/mydata erase', { direct: true });
      return bot.say({ token: offered.choices[0]?.token ?? '' }, { as: 'Bram', direct: true });
    },
  },
  {
    line: 'choices that do not go together',
    says: (language) => {
      const bot = busyBench(language);
      const { choices } = bot.say('/job test job:6');
      const oneOf = (option: string) => choices.find(({ invoke }) => option in invoke.options)?.token ?? '';
      return bot.say({ token: oneOf('fail'), also: [oneOf('waive')] });
    },
  },
  {
    line: 'a lot at once',
    says: (language) => {
      const bot = inLanguage(testBot({ limit: { atOnce: 1, perSecond: 1 } }), language);
      return bot.say('/help');
    },
  },
  {
    line: 'a note without the key',
    says: (language) =>
      inLanguage(testBot({ sealer: interimSealer(() => false) }), language).say('/note add x', {
        direct: true,
      }),
  },
  {
    line: 'no job at all',
    says: (language) => inLanguage(testBot(), language).say('/job show'),
  },
  {
    line: 'a family that the pack has no longer',
    says: (language) => {
      const bot = inLanguage(testBot(), language);
      const by = { key: 'terminal:Ines', name: 'Ines' };
      bot.store.models.save({
        name: 'Orrin K3',
        family: 'gone',
        launched: null,
        newPrice: null,
        by,
        at: bot.now,
      });
      return bot.say('/worth "Orrin K3" price:1');
    },
  },
  {
    line: 'a word that is not good',
    says: (language) => {
      const { dispatcher, collective, now } = inLanguage(testBot(), language);
      return dispatcher.handle({
        collective: collective.id,
        person: { key: 'matrix:@moss:shed.test', name: 'Moss', role: 'steward' },
        direct: false,
        now,
        place: { platform: 'matrix', id: '!room:shed.test' },
        say: { line: '/setup link word:ABCD-EFGH-JKLM' },
      });
    },
  },
  {
    line: 'a week that is posted',
    says: (language) => {
      const bot = inLanguage(testBot(), language);
      bot.store.weeks.sending('2026-W08', 'here', '{}', bot.now);
      bot.store.weeks.sent('2026-W08', 'here', '1', bot.now);
      return bot.say('/week post 2026-W08', { role: 'steward' });
    },
  },
];

function inLanguage(bot: TestBot, language: string): TestBot {
  bot.say(`/setup language:${language}`, { role: 'steward' });
  return bot;
}

/** A line that fits the bench, and how: as a steward where nothing is said. */
const spoken = (line: Line): [string, Saying] => (typeof line === 'string' ? [line, {}] : [line[0], line[1]]);

/** Everything that is refused, in the language. `forms`: by a surface that has forms and menus, where that makes a difference. */
export function everyRefusal(language: string, { forms = false }: Pick<Saying, 'forms'> = {}): Said[] {
  const played = scenes.flatMap(({ first = [], refused }) => {
    const bot = busyBench(language);
    const say = (line: Line): Said => {
      const [text, how] = spoken(line);
      return { line: text, reply: bot.say(text, { ...how, ...(forms ? { forms } : {}) }) };
    };
    for (const line of first) say(line);
    return refused.map(say);
  });
  return [...played, ...staged.map(({ line, says }) => ({ line, reply: says(language) }))];
}
