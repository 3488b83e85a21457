/**
 * One interaction's answer: in the callback when it is ready, deferred when it is not ready in time, and tried again when a
 * socket is cut. Whatever happens, something is shown or the log says why not.
 */

import { z } from 'zod';
import { render } from '../../../shared/language/render.ts';
import { say, typed } from '../../../shared/language/say.ts';
import type { Sent } from '../chat-messages.ts';
import type { SurfaceWatch } from '../surface-watch.ts';
import { callbackType, discordCodeOf, EPHEMERAL, errorCode, paths } from './api.ts';
import type { Modal } from './forms.ts';
import type { Incoming } from './incoming.ts';
import { type OutgoingMessage, onlyForAsker, plainMessage } from './outgoing.ts';
import { type Rest, retry } from './rest.ts';

/** Of the 3 s that Discord waits, half is kept for the way and for a busy machine. */
export const DEFER_MS = 1500;

/** Where an answer goes: everyone in the channel, or its asker alone. */
export type Audience = 'room' | 'asker';

const sentSchema = z.object({ id: z.string() });
/** "Interaction Callback Response Object": what was sent, where it is asked for. */
const callbackSchema = z.object({ resource: z.object({ message: sentSchema.optional() }).optional() });
const WITH_RESPONSE = new URLSearchParams({ with_response: 'true' });

const filesOf = ({ files }: OutgoingMessage) =>
  files.length ? { files: files.map(({ name, data }) => ({ name, data })) } : {};

export interface InteractionResponseParts {
  rest: Rest;
  incoming: Incoming;
  deferMs: number;
  /** Logs a fault under a new id, and gives that. */
  onFault: (error: unknown) => string;
  watch: SurfaceWatch;
}

export class InteractionResponse {
  private readonly rest: Rest;
  private readonly incoming: Incoming;
  private readonly onFault: (error: unknown) => string;
  private readonly watch: SurfaceWatch;
  private readonly timer: NodeJS.Timeout | null;
  private state: 'waiting' | 'deferred' | 'answered' = 'waiting';
  /** The defer callback, while it is under way. */
  private deferring: Promise<void> | null = null;
  /** What the deferred answer was promised to be. */
  private promised: Audience = 'asker';
  /** The answer proper stands there; only what follows it is missing. */
  private stands = false;
  /** The messages that stand there now. */
  readonly sent: Sent[] = [];
  /** Who the answer will be for, once that is known. */
  private expected: Audience;

  constructor({ rest, incoming, deferMs, onFault, watch }: InteractionResponseParts) {
    this.rest = rest;
    this.incoming = incoming;
    this.onFault = onFault;
    this.watch = watch;
    // Nobody but the two reads a direct message; in a server nothing is shown to the room on a guess.
    this.expected = incoming.server ? 'asker' : 'room';
    this.timer = incoming.kind === 'completion' ? null : setTimeout(() => this.defer(), deferMs);
  }

  /** From here on it is known for whom the answer is: should it take long, it is deferred for them. */
  expect(audience: Audience): void {
    this.expected = this.incoming.server ? audience : 'room';
  }

  private get isButton(): boolean {
    return this.incoming.kind === 'button';
  }

  /** It will take a while, as a drawing does: what can be said at once is that the answer comes. */
  deferNow(): void {
    if (this.timer) clearTimeout(this.timer);
    this.defer();
  }

  private defer(): void {
    if (this.state !== 'waiting') return;
    this.state = 'deferred';
    this.watch.deferred();
    this.promised = this.expected;
    const data = this.promised === 'asker' ? { flags: EPHEMERAL } : undefined;
    const type = this.isButton ? callbackType.deferUpdate : callbackType.deferMessage;
    this.deferring = this.callback({ type, ...(data && !this.isButton ? { data } : {}) }).then(() => {});
    // Looked at where the answer is sent; until then it is nobody's fault.
    this.deferring.catch(() => {});
  }

  private async callback(body: object, files: object = {}): Promise<unknown> {
    const { id, token } = this.incoming;
    return retry(async (again) => {
      try {
        return await this.rest.post(paths.callback(id, token), { body, auth: false, ...files });
      } catch (error) {
        // The first try did arrive, though its answer was lost on the way.
        if (again && discordCodeOf(error) === errorCode.acknowledged) return null;
        throw error;
      }
    });
  }

  private async editOriginal(outgoing: OutgoingMessage): Promise<void> {
    const { application, token } = this.incoming;
    const { flags: _, ...body } = outgoing.body;
    const sent = await retry(() =>
      this.rest.patch(paths.original(application, token), { body, auth: false, ...filesOf(outgoing) }),
    );
    this.noteSent(sent, this.promised);
  }

  /** Another message below. It is not tried again when a socket is cut, since it might then stand there twice. */
  private async followUp(outgoing: OutgoingMessage): Promise<void> {
    const { application, token } = this.incoming;
    const sent = await this.rest.post(paths.followUp(application, token), {
      body: outgoing.body,
      auth: false,
      ...filesOf(outgoing),
    });
    this.noteSent(sent, outgoing.body.flags === EPHEMERAL ? 'asker' : 'room');
  }

  private noteSent(message: unknown, audience: Audience): void {
    const { channel } = this.incoming;
    const read = sentSchema.safeParse(message).data;
    if (!read || channel === null) return;
    this.sent.push({ channel, message: read.id, alone: audience === 'asker' });
  }

  /** The first answer; which message that is is told by Discord, and asked for where that was lost on the way. */
  private async firstAnswer(first: OutgoingMessage, audience: Audience): Promise<void> {
    const { application, token } = this.incoming;
    const body = { type: callbackType.message, data: first.body };
    const told = await this.callback(body, { ...filesOf(first), query: WITH_RESPONSE });
    const message = callbackSchema.safeParse(told).data?.resource?.message;
    this.noteSent(
      message ?? (await this.rest.get(paths.original(application, token), { auth: false }).catch(() => null)),
      audience,
    );
  }

  private begin(): 'waiting' | 'deferred' {
    if (this.timer) clearTimeout(this.timer);
    if (this.state === 'answered') throw new Error(`interaction ${this.incoming.id} is answered already`);
    const { state } = this;
    this.state = 'answered';
    return state;
  }

  /** Answers with messages, the first of them in the callback when that is still open. */
  async reply(messages: readonly OutgoingMessage[], audience: Audience): Promise<void> {
    const wanted: Audience = this.incoming.server ? audience : 'room';
    const outgoing = wanted === 'asker' ? messages.map(onlyForAsker) : messages;
    const [first, ...rest] = outgoing;
    if (!first) return;
    await this.shown(async () => {
      if (this.begin() === 'waiting') {
        await this.firstAnswer(first, wanted);
      } else {
        await this.deferring;
        await this.afterDefer(first, wanted);
      }
      this.stands = true;
      for (const more of rest) await this.followUp(more);
    });
  }

  private async afterDefer(first: OutgoingMessage, wanted: Audience): Promise<void> {
    // A press was deferred without a word: its answer is a new message, private or not.
    if (this.isButton) return this.followUp(first);
    if (this.promised === wanted) return this.editOriginal(first);
    if (wanted === 'asker') {
      await this.editOriginal(plainMessage(render(say`The answer is for you alone; it is below.`)));
      return this.followUp(first);
    }
    await this.editOriginal(plainMessage(render(say`Done. The answer is below, for everyone here.`)));
    try {
      await this.followUp(first);
    } catch (error) {
      // Whether it stands there cannot be told: here it is for the asker at least.
      this.onFault(error);
      await this.editOriginal(first);
    }
  }

  /** Puts the answer in the place of the pressed message. */
  async update(outgoing: OutgoingMessage): Promise<void> {
    await this.shown(async () => {
      if (this.begin() === 'waiting') {
        await this.callback({ type: callbackType.update, data: outgoing.body }, filesOf(outgoing));
      } else {
        await this.deferring;
        await this.editOriginal(outgoing);
      }
      this.sent.length = 0;
      const { incoming } = this;
      if (incoming.kind !== 'button') return;
      this.noteSent({ id: incoming.message.id }, incoming.message.ephemeral ? 'asker' : 'room');
    });
  }

  /** Opens a form; only while nothing has been answered yet. False when it is too late for that. */
  async open(modal: Modal): Promise<boolean> {
    if (this.state !== 'waiting') return false;
    this.begin();
    await this.shown(async () => {
      await this.callback({ type: callbackType.modal, data: modal });
    });
    return true;
  }

  /** Offers completions. One that comes too late is of no use to anybody, and no fault. */
  async complete(choices: readonly { name: string; value: string }[]): Promise<void> {
    this.begin();
    const { id, token } = this.incoming;
    try {
      await this.rest.post(paths.callback(id, token), {
        body: { type: callbackType.completions, data: { choices } },
        auth: false,
      });
    } catch (error) {
      const code = discordCodeOf(error);
      if (code !== null && code !== errorCode.unknownInteraction && code !== errorCode.acknowledged)
        this.onFault(error);
    }
  }

  /** Gives up on an answer, as for something that was answered before. */
  drop(): void {
    if (this.timer) clearTimeout(this.timer);
    this.state = 'answered';
  }

  /** Shows something; when Discord does not take it, says at least that, and where to look. */
  private async shown(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      const code = discordCodeOf(error);
      // Delivered twice, and answered the first time.
      if (code === errorCode.acknowledged) return;
      const id = this.onFault(error);
      if (code === errorCode.unknownInteraction) {
        this.watch.late();
        return;
      }
      await this.lastWord(
        render(say`It was done, but Discord did not take the answer. The log has it under ${typed(id)}.`),
      );
    }
  }

  private async lastWord(text: string): Promise<void> {
    const message = onlyForAsker(plainMessage(text));
    try {
      await this.callback({ type: callbackType.message, data: message.body });
    } catch (error) {
      if (discordCodeOf(error) !== errorCode.acknowledged) return;
      // In the place of "thinking" where that is still shown, otherwise below.
      const below = this.isButton || this.stands;
      await (below ? this.followUp(message) : this.editOriginal(message)).catch(() => {});
    }
  }
}
