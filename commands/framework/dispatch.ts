/** The one way in: every surface hands its requests to the dispatcher, and draws the reply it gets. */

import type { Knowledge } from '../../knowledge/load.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { localeFor } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import { NoKey } from '../../shared/sealing/sealer.ts';
import type { Database } from '../../shared/store/index.ts';
import { admit } from './admission.ts';
import { type Command, commandPath, commonRefusals, refusalCodesOf } from './command.ts';
import type { Context } from './context.ts';
import { typedIn, typedOfHere, withDangerWords, withLocalCodes } from './danger-words.ts';
import { workable } from './examples.ts';
import { questionInstead } from './instead.ts';
import { internalErrorReply } from './internal-error.ts';
import { nameToKeep } from './kept-words.ts';
import { languageOf } from './place-language.ts';
import { answeredBefore, isPrivate, PrivateInternalError } from './private.ts';
import { type RateLimit, RateLimited, rateLimiterOf } from './rate-limit.ts';
import { Refusal, refusalReply } from './refusal.ts';
import { pointedAt, shownSafely, visible, withHelp, withoutQuotes } from './refusal-help.ts';
import { renderingIn } from './rendering.ts';
import { type Draft, type Reply, renderReply, replySchema } from './reply.ts';
import type { Request, RequestOrigin } from './request.ts';
import { actionFound, invocationMeant, understand, type WantedAction } from './understand.ts';
import { waysOn } from './way-on.ts';

export interface DispatcherParts {
  database: Database;
  knowledge: Knowledge;
  commands: readonly Command[];
  /** A new id that cannot be guessed. */
  makeId: () => string;
  /** Gets every unexpected error whole, under the id that the person was told. */
  log: (id: string, error: unknown) => void;
  /** Token bucket of each person in a collective; no limit when not given. */
  limit?: RateLimit;
  /** Holds each action to its contract: what breaks it is a fault. For tests. */
  strict?: boolean;
}

export interface Dispatcher {
  /** Never throws: a refusal and a fault are replies too, and then nothing has been saved. */
  handle(request: Request): Reply;
  /** What a command would be given; for completion. Refusal when there is no such collective. */
  contextFor(asked: RequestOrigin): Context;
  /** Saves the choices of a refusal, which saves nothing itself, and gives each its token: for a surface that shows them. */
  offer(refused: Reply, asked: RequestOrigin): Reply;
  /**
   * Runs a choice whose action is `ahead` and takes all of it back, so that what it works out is known already when somebody
   * takes it. Never throws, and nothing is saved. Whether there was something to run.
   */
  rehearse(choice: Reply['choices'][number], asked: RequestOrigin): boolean;
  /** The same, with other commands: a surface has some of its own. How much somebody may say is counted together. */
  withCommands(commands: readonly Command[]): Dispatcher;
}

export const createDispatcher = (parts: DispatcherParts): Dispatcher =>
  new CommandDispatcher(parts, parts.limit ? rateLimiterOf(parts.limit) : null);

/** What a command may use of the bot, for who asks. Refusal where there is no such collective. */
function contextOf(
  { database, knowledge }: Pick<DispatcherParts, 'database' | 'knowledge'>,
  { collective: idOrName, person, direct, now, locale, place }: RequestOrigin,
): Context {
  const collective: Collective | null = database.collectives.find(idOrName);
  if (!collective)
    throw new Refusal({
      code: 'no-collective',
      problem: say`There is no collective "${verbatim(String(idOrName))}" here.`,
    });
  const own = localeFor(locale, collective.settings.language);
  const how = renderingIn(knowledge, own);
  return {
    collective,
    person: { ...person, name: nameToKeep(person.name, knowledge.secrets) },
    direct,
    store: database.of(collective),
    knowledge,
    now,
    locale: own,
    write: (message) => render(message, how),
    ...(place ? { place } : {}),
  };
}

/** With the cards of what was typed, and the line that stands over all cards. */
const guarded = (
  made: Draft,
  { say: said }: Request,
  commands: readonly Command[],
  context: Context,
): Draft =>
  withLocalCodes(
    withDangerWords(made, typedOfHere(said, commands), context),
    context.collective.settings.region,
  );

/** Ends a transaction of which nothing is to stay. */
class TakenBack extends Error {}

class CommandDispatcher implements Dispatcher {
  private readonly parts: DispatcherParts;
  private readonly takeToken: ReturnType<typeof rateLimiterOf> | null;

  constructor(parts: DispatcherParts, takeToken: ReturnType<typeof rateLimiterOf> | null) {
    this.parts = parts;
    this.takeToken = takeToken;
  }

  readonly contextFor = (asked: RequestOrigin): Context => contextOf(this.parts, asked);

  readonly offer = (refused: Reply, asked: RequestOrigin): Reply =>
    refused.choices.length
      ? this.parts.database.relaxedTransaction(() => this.saveChoices(refused, this.contextFor(asked)))
      : refused;

  readonly rehearse = ({ token, invoke }: Reply['choices'][number], asked: RequestOrigin): boolean => {
    const { database, commands } = this.parts;
    const action = commands.find(({ name }) => name === invoke.command)?.actions[invoke.action];
    if (token === undefined || !action?.ahead) return false;
    let ran = false;
    try {
      database.relaxedTransaction(() => {
        const context = this.contextFor(asked);
        const wanted = understand({ token }, commands, context);
        ran = true;
        perform(wanted, commands, context);
        throw new TakenBack();
      });
    } catch {
      // Whatever came of it is said when somebody takes the choice.
    }
    return ran;
  };

  readonly withCommands = (commands: readonly Command[]): Dispatcher =>
    new CommandDispatcher({ ...this.parts, commands }, this.takeToken);

  readonly handle = (request: Request): Reply => {
    const { database, makeId, log } = this.parts;
    const draw = this.drawerFor(request);
    try {
      // Replies that change no data commit without fsync.
      return database.relaxedTransaction((markDurable) => this.answer(request, draw, markDurable));
    } catch (error) {
      if (error instanceof RateLimited)
        return { ...this.refuse(request, draw, refusalReply(error.detail)), repeats: error.again };
      if (error instanceof Refusal) {
        const { secrets } = this.parts.knowledge;
        const detail = visible(error.detail, secrets);
        // What must not be kept is not offered again either.
        const code = findSecret(typedIn(request.say), secrets) ? 'secret' : detail.code;
        const refused = this.refuse(request, draw, refusalReply(detail), (context) =>
          waysOn(
            { ...detail, code },
            this.meant(request.say, context),
            this.parts.commands,
            context,
            request.forms,
          ),
        );
        const title = shownSafely(refused.title);
        return { ...refused, title: findSecret(title, secrets) ? withoutQuotes(title) : title };
      }
      const id = makeId().slice(0, 8);
      log(id, error);
      return this.refuse(request, draw, internalErrorReply(error, id));
    }
  };

  /** What a choice stands for, so that what is missing in it can be picked as after a typed command. */
  private meant(said: Request['say'], context: Context): Request['say'] {
    if (!('token' in said)) return said;
    let meant: Request['say'] = said;
    try {
      // Looking it up is no taking: nothing of a refusal is kept.
      this.parts.database.relaxedTransaction(() => {
        meant = { invoke: invocationMeant(said, this.parts.commands, context) };
        throw new TakenBack();
      });
    } catch (error) {
      if (!(error instanceof Refusal || error instanceof TakenBack)) throw error;
    }
    return meant;
  }

  /** What the room reads is in the collective's language, what the asker alone reads in their own. */
  private drawerFor({ collective, locale, direct, instants }: Request): (draft: Draft) => Reply {
    const { database, knowledge } = this.parts;
    const spoken = languageOf(database, collective);
    const own = localeFor(locale, spoken);
    return (draft) => {
      const alone = direct || draft.audience === 'asker';
      const how = renderingIn(knowledge, alone ? own : spoken);
      return renderReply(draft, instants ? { ...how, instants } : how);
    };
  }

  /** A refusal and a fault have the cards of what was typed too, where there is a collective to speak for. */
  private refuse(
    request: Request,
    draw: (draft: Draft) => Reply,
    draft: Draft,
    choices: (context: Context) => Draft['choices'] = () => [],
  ): Reply {
    try {
      const context = this.contextFor(request);
      return draw(guarded({ ...draft, choices: choices(context) }, request, this.parts.commands, context));
    } catch {
      return draw(draft);
    }
  }

  /** `markDurable` is called when the command itself wrote anything. */
  private answer(request: Request, draw: (draft: Draft) => Reply, markDurable: () => void): Reply {
    const { database, commands, strict = false } = this.parts;
    const context = this.contextFor(request);
    const { store, person, now } = context;
    const { requestId } = request;
    const before = requestId === undefined ? undefined : store.requests.answered(requestId);
    if (before !== undefined) return replySchema.parse(before);
    this.takeToken?.(`${context.collective.id} ${person.key}`, request.saidAt ?? now);

    let wanted = understand(request.say, commands, context);
    const hidden = isPrivate(wanted.command);
    // Before the command runs: one that erases what is held of the asker erases this too.
    if (!request.unsettled) store.people.meet(person.key, person.name, now);
    const written = database.written();
    try {
      const run = (one: WantedAction) =>
        strict ? checked(one, commands, context) : perform(one, commands, context);
      let made: Draft;
      try {
        made = run(wanted);
      } catch (error) {
        const other =
          database.written() === written && !hidden ? questionInstead(error, wanted, context) : null;
        if (!other) throw error;
        wanted = actionFound(other, commands);
        made = run(wanted);
      }
      if (database.written() !== written) markDurable();
      const offered = request.forms ? made : { ...made, choices: made.choices.filter(({ fill }) => !fill) };
      const finished = this.saveChoices(draw(guarded(offered, request, commands, context)), context);
      if (requestId !== undefined)
        store.requests.save(requestId, hidden ? draw(answeredBefore()) : finished, now);
      return finished;
    } catch (error) {
      if (!hidden || error instanceof Refusal) throw error;
      throw new PrivateInternalError(error);
    }
  }

  /** Saves what the reply offers next, and gives each choice its token. */
  private saveChoices(made: Reply, { store, person, now }: Context): Reply {
    if (!made.choices.length) return made;
    const choices = made.choices.map((choice) => ({ ...choice, token: this.parts.makeId() }));
    store.choices.save(
      choices.map(({ token, label, invoke, subject, revision, open }) => ({
        token,
        person: open ? null : person.key,
        label,
        invoke,
        subject: subject ?? null,
        revision: revision ?? null,
      })),
      now,
    );
    return { ...made, choices };
  }
}

function perform(
  { command, name, action, options, typed: line }: WantedAction,
  commands: readonly Command[],
  context: Context,
): Draft {
  const shown = (example: string) => workable(example, commands, context);
  return withHelp(command, name, action, shown, () => {
    admit(command, name, action, context);
    try {
      return action.execute(options, context);
    } catch (error) {
      if (error instanceof NoKey) {
        throw new Refusal({
          code: 'unavailable',
          problem: say`This cannot be sealed now: the key to the store is not here, and nothing private is kept without it.`,
          expected: say`to ask whoever runs the bot; its start says what to do`,
        });
      }
      if (!(error instanceof Refusal) || !line || isPrivate(command) || error.detail.code === 'secret')
        throw error;
      throw new Refusal(pointedAt(error.detail, line.line, line.parsed));
    }
  });
}

/** Does it, and throws where the answer is not what the action's contract says. */
function checked(wanted: WantedAction, commands: readonly Command[], context: Context): Draft {
  const path = commandPath(wanted.command, wanted.name);
  try {
    const made = perform(wanted, commands, context);
    if (made.outcome !== 'answered') throw new Error(`${path} refuses by a reply: it has to throw Refusal`);
    wanted.action.data.parse(made.data);
    return made;
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    const { code } = error.detail;
    if ([...commonRefusals, ...refusalCodesOf(wanted.action)].includes(code)) throw error;
    throw new Error(`${path} refuses with "${code}", which its contract does not name`);
  }
}
