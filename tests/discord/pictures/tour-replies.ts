/** What is said in the tour, with every reply. */
import type { Reply } from '../../../commands/framework/reply.ts';
import { openDatabase } from '../../../shared/store/index.ts';
import { DEMO_COLLECTIVE, DEMO_ZONE, fillDemo } from '../../../src/surfaces/terminal/demo.ts';
import { createSession } from '../../../src/surfaces/terminal/session.ts';
import { playTour } from '../../../src/surfaces/terminal/tour.ts';
import { testSealer } from '../../sealer.ts';
import { knowledge } from '../../test-bot.ts';

export interface Said {
  by: string;
  line: string;
  reply: Reply;
}

/** Everything that is said in the tour. */
export function theTour(): Said[] {
  const said: Said[] = [];
  const database = openDatabase(':memory:', testSealer);
  database.collectives.create(DEMO_COLLECTIVE);
  const now = new Date('2026-03-02T09:00:00Z');
  const session = createSession({
    database,
    knowledge: knowledge(),
    collective: DEMO_COLLECTIVE,
    persona: { name: 'Ines', role: 'steward' },
    direct: false,
    clock: () => now,
    log: (id, error) => process.stderr.write(`${id} ${String(error)}\n`),
  });
  fillDemo(session, now);
  playTour({
    session,
    knowledge: knowledge(),
    zone: DEMO_ZONE,
    narrate: () => undefined,
    whole: true,
    show: (line, reply) => said.push({ by: session.persona.name, line, reply }),
  });
  database.close();
  return said;
}
