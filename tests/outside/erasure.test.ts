import { expect } from 'vitest';
import { testBot, wordsOf } from '../test-bot.ts';
import { outside } from './check.ts';
import { lesson, lineOf } from './said.ts';

const where = '/paired component:mainboard';
const board = (id: string) => lesson(id, 'mainboard');

for (const [id, what, value, pattern] of [
  ['erase-01', 'Clear', 'withstands simple recovery', /Clear withstands simple recovery/],
  ['erase-02', 'Purge', 'withstands a laboratory', /purge withstands a laboratory/],
  [
    'erase-03',
    'Destroy',
    'the medium stores nothing any more',
    /destroy leaves a medium that stores nothing/,
  ],
  [
    'erase-04',
    'A reset without evidence that keys were erased',
    'at most clear',
    /factory reset without evidence that keys were erased is at most clear/,
  ],
] as const) {
  outside({ id, what, value, source: 'nist-800-88', at: '2.5', where }, () => {
    expect(board('erase-words')).toMatchObject({
      source: 'nist-800-88',
      says: expect.stringMatching(pattern),
    });
  });
}

for (const [id, what, value, pattern] of [
  [
    'erase-05',
    'Erasing the key: condition',
    'encrypted from the start, no copy of the key',
    /if all was encrypted from the start and no copy of the key is left/,
  ],
  ['erase-06', 'Writing over flash', 'does not reach all of it', /Writing over flash reaches not all of it/],
] as const) {
  outside(
    { id, what, value, source: 'nist-800-88', at: '2.4, 2.6, appendix D', known: 'memory', where },
    () => {
      expect(board('erase-keys')).toMatchObject({
        source: 'nist-800-88',
        says: expect.stringMatching(pattern),
      });
      expect(board('erase-keys').says).toContain('from memory');
    },
  );
}

outside(
  {
    id: 'erase-07',
    what: 'The current revision keeps the three words',
    value: 'clear, purge, destroy (2014, revised 2025)',
    source: 'nist-800-88',
    at: 'revision 2',
    where: 'shared/jobs/entry.ts, /job answer',
  },
  () => {
    const source = testBot().context().knowledge.sources.get('nist-800-88');
    expect(source?.date).toBe('2014, revised 2025');
    const one = testBot();
    one.say('/job open glued-front-home-sensor came:given ownership:shown lock:free stolen:clear');
    for (const word of ['clear', 'purge', 'destroy'])
      expect(one.say(`/job answer data:${word}`).outcome, word).toBe('answered');
    expect(one.say('/job answer data:wiped').outcome).toBe('refused');
  },
);

outside(
  {
    id: 'erase-08',
    what: 'Leaves its owner: wants purge with evidence; what cannot be erased goes back or is destroyed',
    value: 'purge, else back or destroyed',
    source: 'nist-800-88',
    where: '/caution data-and-ownership',
  },
  () => {
    const line = lineOf('data-and-ownership', /wants purge/);
    expect(line.source).toBe('nist-800-88');
    expect(line.text).toContain('goes back or is destroyed');
  },
);

for (const [id, what, value, pattern] of [
  [
    'erase-09',
    'EU smartphones: user data by default',
    'encrypted with a random key',
    /encrypt user data by default with a random key/,
  ],
  [
    'erase-10',
    'EU smartphones: factory reset',
    'erases the key and makes a new one',
    /a factory reset erases that key and makes a new one/,
  ],
] as const) {
  outside({ id, what, value, source: 'eu-2023-1670', at: 'Annex II Part B 1.1 (6)', where }, () => {
    expect(board('erase-eu')).toMatchObject({ source: 'eu-2023-1670', says: expect.stringMatching(pattern) });
  });
}

outside(
  {
    id: 'own-01',
    what: 'Reset protection: after a reset without the owner only the earlier lock or account opens it',
    value: 'the phone cannot be used at all',
    source: 'android-frp',
    where: '/caution data-and-ownership',
  },
  () => {
    expect(lineOf('data-and-ownership', /take the account off/)).toMatchObject({
      source: 'android-frp',
      text: expect.stringContaining('cannot be used at all'),
    });
    expect(board('reset-protection').source).toBe('android-frp');
    expect(board('reset-protection').says).toContain('by removing the account first');
  },
);

outside(
  {
    id: 'own-02',
    what: 'A locked phone waits for its owner: no money, no board work',
    value: 'held',
    source: 'android-frp',
    known: 'computed',
    where: '/job',
  },
  () => {
    const one = testBot();
    const opened = one.say(
      '/job open glued-front-home-sensor came:given ownership:shown lock:locked stolen:clear',
    );
    expect(opened.outcome).toBe('answered');
    const before = one.dump();
    const refused = one.say('/job log out:14 for:part');
    expect(refused.outcome).toBe('refused');
    expect(wordsOf(refused)).toContain('locked to an account');
    expect(one.dump()).toEqual(before);
    expect(wordsOf(one.say('/job 1'))).toContain('only the owner can take the account off');
  },
);

outside(
  {
    id: 'own-03',
    what: 'Flagged phones are not bought, sold or repaired',
    value: 'GSMA recommendation',
    source: 'gsma-device-registry',
    where: '/caution data-and-ownership',
  },
  () => {
    expect(lineOf('data-and-ownership', /blocklist/)).toMatchObject({
      source: 'gsma-device-registry',
      text: expect.stringContaining('not bought, sold or repaired'),
    });
  },
);

outside(
  {
    id: 'own-04',
    what: 'Not every operator takes part: no flag is no proof; a wrong flag goes to the operator',
    value: 'no proof',
    source: 'gsma-device-registry',
    where,
  },
  () => {
    expect(lineOf('data-and-ownership', /blocklist/).text).toContain('No flag is no proof');
    expect(board('blocklist')).toMatchObject({
      source: 'gsma-device-registry',
      says: expect.stringContaining('the owner asks the operator'),
    });
  },
);

outside(
  {
    id: 'own-05',
    what: 'A listed phone is not repaired, sold or stripped here',
    value: 'held; goes to the police or the operator',
    source: 'gsma-device-registry',
    known: 'computed',
    where: '/job',
  },
  () => {
    const one = testBot();
    one.say('/job open glued-front-home-sensor came:given ownership:shown lock:free stolen:listed');
    for (const line of [
      '/job log fitted:battery grade:copy',
      '/job finish stripped',
      '/job finish restored page:seen sold:100',
    ]) {
      const refused = one.say(line);
      expect(refused.outcome, line).toBe('refused');
      expect(wordsOf(refused)).toContain('stolen-phone list');
    }
  },
);

outside(
  {
    id: 'own-06',
    what: 'Changing an IMEI in the United Kingdom: up to',
    value: '5 years',
    source: 'uk-reprogramming-act-2002',
    at: 'section 1',
    where: '/caution data-and-ownership',
  },
  () => {
    expect(lineOf('data-and-ownership', /^Never write, move or change an IMEI/)).toMatchObject({
      source: 'uk-reprogramming-act-2002',
      text: expect.stringContaining('up to 5 years'),
    });
  },
);

outside(
  {
    id: 'own-07',
    what: 'Flat for a while: an industrial handheld keeps its clock without the main battery for',
    value: 'about 5 minutes',
    source: 'handheld-clock',
    where: '/family show',
  },
  () => {
    expect(wordsOf(testBot().say('/family show removable-back-slab'))).toContain('about 5 minutes');
  },
);

outside(
  {
    id: 'own-08',
    what: 'Clock: network time first from Android 12, the operator first up to 11',
    value: '12 and 11',
    source: 'aosp-time-source',
    where,
  },
  () => {
    expect(board('clock-network')).toMatchObject({
      source: 'aosp-time-source',
      says: expect.stringMatching(/^Android 12 and later .* network time first, Android 11 and earlier/),
    });
  },
);
