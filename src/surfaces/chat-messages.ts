/**
 * The bot's own messages in chat after they were sent: what each one shows is remembered, words that were removed are taken out of
 * them, and buttons that a newer message has taken over are taken away. Each surface gives the hands that do it there.
 */

import type { Reply } from '../../commands/framework/reply.ts';
import { steppedIn, subjectsOf } from '../../commands/framework/subjects.ts';
import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import { counted, say, verbatim } from '../../shared/language/say.ts';
import type { Database, MessagePlace, Removal, RemovalPlace } from '../../shared/store/index.ts';

/**
 * What became of a message. `gone`: it is not there any more. `beyond`: nobody can change it. `denied`: not with the rights that the
 * bot has now.
 */
export type Mended = 'mended' | 'untouched' | 'gone' | 'beyond' | 'denied';

/** What a surface does with its messages. Both throw where the platform cannot be reached. */
export interface MessageHands {
  mend(removal: Removal, place: RemovalPlace): Promise<Mended>;
  /** Takes its choices away. */
  retire(place: MessagePlace): Promise<void>;
}

/** A message that was sent, and whether one person alone reads it. */
export interface Sent {
  channel: string;
  message: string;
  alone: boolean;
}

type Outcome = Mended | 'later';
type Tally = Map<Outcome, number>;

/** A reply waits no longer than this for messages to be put right. */
const PATIENCE_MS = 8000;
const AGAIN_MS = 60_000;

/** "removed by Ines": what stands where the words stood. */
export const removedWords = ({ by, steward }: Pick<Removal, 'by' | 'steward'>): Message =>
  steward ? say`removed by ${verbatim(by)}, a steward` : say`removed by ${verbatim(by)}`;

const toldOf = (tally: Tally): Message[] => {
  const of = (outcome: Outcome) => tally.get(outcome) ?? 0;
  const lines: [number, Message][] = [
    [of('mended'), counted(of('mended'), '{0} message is put right.', '{0} messages are put right.')],
    [of('gone'), counted(of('gone'), '{0} message was gone already.', '{0} messages were gone already.')],
    [
      of('beyond'),
      counted(
        of('beyond'),
        '{0} message was shown to one person alone and cannot be changed any more: it goes when their client is restarted.',
        '{0} messages were shown to one person alone and cannot be changed any more: they go when their client is restarted.',
      ),
    ],
    [
      of('denied'),
      counted(
        of('denied'),
        '{0} message I may not change: I lack the rights there. It is tried again when I am started anew; take it away there meanwhile.',
        '{0} messages I may not change: I lack the rights there. They are tried again when I am started anew; take them away there meanwhile.',
      ),
    ],
    [
      of('later'),
      counted(
        of('later'),
        '{0} message cannot be reached just now: it is tried again every minute.',
        '{0} messages cannot be reached just now: they are tried again every minute.',
      ),
    ],
  ];
  return lines.flatMap(([count, words]) => (count ? [words] : []));
};

export interface ChatMessagesParts {
  database: Database;
  clock: () => Date;
  onFault: (error: unknown) => void;
}

export class ChatMessages {
  private readonly parts: ChatMessagesParts;
  private readonly hands = new Map<string, MessageHands>();
  private readonly movers = new Map<string, (collective: number) => void>();
  /** What may not be changed is left alone until the program is started anew. */
  private readonly denied = new Set<string>();
  private running: Promise<Map<number, Tally>> | null = null;
  private again: NodeJS.Timeout | undefined;

  constructor(parts: ChatMessagesParts) {
    this.parts = parts;
  }

  /**
   * Messages of a platform can be reached from here on; what was left from before is put right now. `moved` is told after each request
   * that was answered, on whichever platform: something may have changed.
   */
  register(platform: string, hands: MessageHands, moved?: (collective: number) => void): void {
    this.hands.set(platform, hands);
    if (moved) this.movers.set(platform, moved);
    void this.carryOut();
  }

  unregister(platform: string): void {
    this.hands.delete(platform);
    this.movers.delete(platform);
    if (!this.hands.size) clearTimeout(this.again);
  }

  /** A reply that is about to be shown, with what became of the messages that it has put right. */
  async finished(collective: number, made: Reply): Promise<Reply> {
    if (made.outcome !== 'answered') return made;
    for (const moved of this.movers.values()) moved(collective);
    if (!this.isDue()) return made;
    const tally = await Promise.race([
      this.carryOutAnew().then((tallies) => tallies.get(collective) ?? new Map()),
      new Promise<null>((resolve) => setTimeout(() => resolve(null), PATIENCE_MS).unref()),
    ]);
    const lines = tally ? toldOf(tally) : [say`Messages of mine are still being put right.`];
    if (!lines.length) return made;
    const text = lines.map((line) => render(line, made.language)).join(' ');
    return { ...made, blocks: [...made.blocks, { kind: 'text', text }] };
  }

  /** Remembers what the messages of a reply show, and takes the choices of older ones away. */
  shown(
    {
      platform,
      collective,
      person,
      request,
    }: { platform: string; collective: number; person: string; request: string },
    made: Reply,
    sent: readonly Sent[],
  ): void {
    if (made.outcome !== 'answered' || !sent.length) return;
    const { database, clock, onFault } = this.parts;
    const found = database.collectives.find(collective);
    if (!found) return;
    const subjects = subjectsOf(made);
    if (!subjects.length) return;
    const stepped = steppedIn(made);
    const { shown, jobPosts } = database.of(found);
    const older = stepped.flatMap((subject) => shown.showing(subject, { offering: true }));
    const now = clock();
    // Nobody waits for the disk with each reply: the next change takes it along.
    database.relaxedTransaction(() => {
      for (const { channel, message, alone } of sent) {
        const whose = { platform, channel, message, person: alone ? person : null };
        const rest = subjects.filter((subject) => !stepped.includes(subject));
        shown.note({ ...whose, choices: false }, [...rest, `request:${request}`], now);
        // The card of a job has its choices from whoever keeps it.
        const card = jobPosts.isCard(platform, message);
        shown.note({ ...whose, choices: !card }, stepped, now);
      }
    });
    if (sent.every(({ alone }) => alone)) return;
    const fresh = sent.map(({ message }) => message);
    for (const place of older) {
      const kept = place.person !== null || jobPosts.isCard(place.platform, place.message);
      if (kept || fresh.includes(place.message)) continue;
      this.retire(shown, place).catch((error: unknown) => {
        if (this.hands.has(place.platform)) onFault(error);
      });
    }
  }

  /** Puts right what is still to be, on the platforms that can be reached. By collective, how many of each outcome. Never rejects. */
  carryOut(): Promise<Map<number, Tally>> {
    this.running ??= this.work().finally(() => {
      this.running = null;
    });
    return this.running;
  }

  /** The same from here on, where it is under way already. */
  private async carryOutAnew(): Promise<Map<number, Tally>> {
    await this.running;
    return this.carryOut();
  }

  private isDue(): boolean {
    return [...this.hands.keys()].some((platform) => this.pending(platform).length > 0);
  }

  private pending(platform: string): Removal[] {
    return this.parts.database.removals.pending(platform).flatMap((removal) => {
      const messages = removal.messages.filter((place) => !this.denied.has(keyOf(removal, place)));
      return messages.length ? [{ ...removal, messages }] : [];
    });
  }

  private async retire(shown: { retired(place: MessagePlace): void }, place: MessagePlace): Promise<void> {
    const hands = this.hands.get(place.platform);
    if (!hands) return;
    await hands.retire(place);
    shown.retired(place);
  }

  private async work(): Promise<Map<number, Tally>> {
    const tallies = new Map<number, Tally>();
    const { onFault } = this.parts;
    let left = false;
    for (const [platform, hands] of this.hands) {
      for (const removal of this.pending(platform)) {
        const tally: Tally = tallies.get(removal.collective) ?? new Map();
        tallies.set(removal.collective, tally);
        for (const place of removal.messages) {
          const outcome = await this.mend(hands, removal, place).catch((error: unknown) => {
            // What breaks off because the surface ends is no fault.
            if (this.hands.get(platform) === hands) onFault(error);
            return 'later' as const;
          });
          if (outcome === 'later') left = true;
          tally.set(outcome, (tally.get(outcome) ?? 0) + 1);
        }
      }
    }
    clearTimeout(this.again);
    if (left) {
      this.again = setTimeout(() => void this.carryOut(), AGAIN_MS);
      this.again.unref();
    }
    return tallies;
  }

  private async mend(hands: MessageHands, removal: Removal, place: RemovalPlace): Promise<Mended> {
    const { removals } = this.parts.database;
    const outcome = await hands.mend(removal, place);
    if (outcome === 'denied') this.denied.add(keyOf(removal, place));
    else if (outcome === 'gone' || outcome === 'beyond') removals.gone(removal.collective, place);
    else removals.mended(removal.collective, place);
    return outcome;
  }
}

const keyOf = ({ collective, number }: Removal, { platform, channel, message }: MessagePlace): string =>
  `${collective} ${number} ${platform} ${channel} ${message}`;
