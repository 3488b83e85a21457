/** From a sentence at the prompt to the first check: the sentence, and one number. */
import { expect, it } from 'vitest';
import { traceData } from '../../commands/trace/trace-data.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { createSession } from '../../src/surfaces/terminal/session.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';

it('takes two messages at the prompt', () => {
  const database = openDatabase(':memory:', testSealer);
  database.collectives.create('Tin Shed', { currency: 'AUD', region: 'AU' });
  const session = createSession({
    database,
    knowledge: knowledge(),
    collective: 'Tin Shed',
    persona: { name: 'Ines', role: 'steward' },
    direct: false,
    clock: () => new Date('2026-03-02T09:00:00Z'),
    log: (_, error) => {
      throw error;
    },
  });
  session.say('/family name model:"Orrin K3" as:glued-front-home-sensor');
  const read = session.say('Orrin K3: given, dead, 0 A, cracked corner, boots on my test cell');
  expect(read.title).toMatch(/^I read: .*Right\?$/);
  expect(traceData.parse(session.say('1').data)).toMatchObject({ state: 'asking', step: { kind: 'check' } });
});
