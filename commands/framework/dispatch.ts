/** The one way in: every surface hands its requests to the dispatcher, and draws the reply it gets. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { SecretWords } from '../../knowledge/secrets.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { localeFor } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { type Instants, render } from '../../shared/language/render.ts';
import { inRow, say, typed, verbatim } from '../../shared/language/say.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import { NoKey } from '../../shared/sealing/sealer.ts';
import type { Database, Store } from '../../shared/store/index.ts';
import { type Action, type Command, commandPath, commonRefusals, refusalCodesOf, usage } from './command.ts';
import type { Context, Person, Role } from './context.ts';
import { typedIn, typedOfHere, withDangerWords, withLocalCodes } from './danger-words.ts';
import { workable } from './examples.ts';
import { questionInstead } from './instead.ts';
import { internalErrorReply } from './internal-error.ts';
import { nameToKeep } from './kept-words.ts';
import { nearestNames } from './lookup.ts';
import { type Parsed, parseLine } from './parse.ts';
import { languageOf } from './place-language.ts';
import { answeredBefore, commandWord, isPrivate, PrivateInternalError, privateCommandIn } from './private.ts';
import { type RateLimit, RateLimited, rateLimiterOf } from './rate-limit.ts';
import { Refusal, type RefusalDetail, refusalReply } from './refusal.ts';
import { renderingIn } from './rendering.ts';
import { type Draft, type Invocation, type Reply, renderReply, replySchema } from './reply.ts';
import { joinedInvocation } from './several.ts';
import { waysOn } from './way-on.ts';

/** Who asks, where and when. */
export interface RequestOrigin {
  /** Id or name. */
  collective: number | string;
  person: Person;
  direct: boolean;
  now: Date;
  /** When it was said, where that is earlier than now: what waited is not taken for a lot at once. */
  saidAt?: Date;
  /** That of the person's client (BCP 47); the collective's language when not given. */
  locale?: string;
  /** The shared place, as its platform names it. */
  place?: Context['place'];
  /** The surface has forms, and menus for long lists: of what can be picked all is offered, and what is typed is asked for. */
  forms?: boolean;
  /** The surface draws instants in each reader's own zone: how it marks them. */
  instants?: Instants;
  /** The collective is one of several that the person may choose among: that they spoke in it is not noted. */
  unsettled?: boolean;
}

export interface Request extends RequestOrigin {
  /** The platform's own id of the request: one that arrives twice is answered once. */
  requestId?: string;
  say:
    | { line: string }
    | { invoke: Invocation }
    /** `also`: further choices that are taken with it (`several.ts`). */
    | { token: string; also?: readonly string[] };
}

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
  rehearse(token: string, asked: RequestOrigin): boolean;
  /** The same, with other commands: a surface has some of its own. How much somebody may say is counted together. */
  withCommands(commands: readonly Command[]): Dispatcher;
}

const rank: Readonly<Record<Role, number>> = { visitor: 0, member: 1, steward: 2 };
const whoWords: Readonly<Record<Role, Message>> = {
  visitor: say`everyone`,
  member: say`members of the collective`,
  steward: say`stewards of the collective`,
};
export const roleWords: Readonly<Record<Role, Message>> = {
  visitor: say`visitor`,
  member: say`member`,
  steward: say`steward`,
};

/** The revision that a choice's subject has now, by the kind of subject: `trace:3`. */
const revisions: Readonly<Record<string, (store: Store, number: number) => number | undefined>> = {
  trace: (store, number) => store.traces.get(number)?.revision,
  job: (store, number) => store.jobs.get(number)?.revision,
};

/** What a choice was offered for. */
const subjectWords: Readonly<Record<string, (number: number) => Message>> = {
  trace: (number) => say`trace ${number}`,
  job: (number) => say`job ${number}`,
};

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

  readonly rehearse = (token: string, asked: RequestOrigin): boolean => {
    const { database, commands } = this.parts;
    let ran = false;
    try {
      database.relaxedTransaction(() => {
        const context = this.contextFor(asked);
        const wanted = understand({ token }, commands, context);
        if (wanted.action.ahead) {
          ran = true;
          perform(wanted, commands, context);
        }
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
        meant = { invoke: invocationOf(said, this.parts.commands, context) };
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
      const run = (one: Wanted) =>
        strict ? checked(one, commands, context) : perform(one, commands, context);
      let made: Draft;
      try {
        made = run(wanted);
      } catch (error) {
        const other =
          database.written() === written && !hidden ? questionInstead(error, wanted, context) : null;
        if (!other) throw error;
        wanted = found(other, commands);
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

/** An action with its options as text, and the line that asked for it, if one did. */
interface Wanted extends Found {
  typed?: { line: string; parsed: Parsed };
}

function understand(say: Request['say'], commands: readonly Command[], context: Context): Wanted {
  if ('line' in say) {
    const hidden = context.direct ? undefined : privateCommandIn(say.line, commands);
    if (hidden) refusePlace(`/${hidden.name}`, commandWord(say.line)?.toLowerCase() === hidden.name);
    const parsed = parseLine(say.line, commands);
    return { ...found(parsed, commands), typed: { line: say.line, parsed } };
  }
  const invocation = invocationOf(say, commands, context);
  const command = commands.find(({ name }) => name === invocation.command);
  if (command && isPrivate(command) && !context.direct) refusePlace(`/${command.name}`);
  return found(invocation, commands);
}

/** The command that is said, or that the choices stand for. */
const invocationOf = (
  say: Exclude<Request['say'], { line: string }>,
  commands: readonly Command[],
  context: Context,
): Invocation =>
  'invoke' in say
    ? say.invoke
    : joinedInvocation(
        [say.token, ...(say.also ?? [])].map((token) => resolve(token, context)),
        commands,
      );

function perform(
  { command, name, action, options, typed: line }: Wanted,
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
function checked(wanted: Wanted, commands: readonly Command[], context: Context): Draft {
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

/** Puts the caret under the option that was wrong, or behind the end of the line where one is missing. */
function pointedAt(detail: RefusalDetail, line: string, { spans }: Parsed): RefusalDetail {
  if (detail.option === undefined || detail.line !== undefined) return detail;
  const { from, to } = spans[detail.option] ?? { from: line.length, to: line.length + 1 };
  return { ...detail, line, from, to };
}

/** A refusal without advice of its own gets the usage, and the first example of what was tried. */
function withHelp(
  command: Command,
  name: string,
  action: Action,
  shown: (example: string) => string | null,
  work: () => Draft,
): Draft {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    const { example: own, ...detail } = error.detail;
    const example = [...(own === undefined ? [] : [own]), ...action.examples].map(shown).find(Boolean);
    throw new Refusal({
      ...detail,
      expected: error.detail.expected ?? typed(usage(command, name)),
      ...(example ? { example } : {}),
    });
  }
}

/** `exact` is false where the command was not spelt right: it may have been meant. */
function refusePlace(path: string, exact = true): never {
  throw new Refusal({
    code: 'not-here',
    problem: exact
      ? say`${typed(path)} works in a direct message only, so that nobody else reads it.`
      : say`There is no such command; ${typed(path)}, if you meant that, works in a direct message only.`,
    expected: say`the same words in a direct message to the bot`,
  });
}

function admit(command: Command, name: string, action: Action, context: Context): void {
  const path = commandPath(command, name);
  if (action.where === 'direct' && !context.direct) refusePlace(path);
  if (action.where === 'channel' && context.direct) {
    throw new Refusal({
      code: 'not-here',
      problem: say`${typed(path)} works in a shared room only.`,
      expected: say`the same words in a room of the collective`,
    });
  }
  if (rank[context.person.role] < rank[action.who]) {
    throw new Refusal({
      code: 'not-allowed',
      problem: say`${typed(path)} is for ${whoWords[action.who]}; you are a ${roleWords[context.person.role]} here.`,
      expected: say`to ask one of the ${whoWords[action.who]}`,
    });
  }
}

interface Found {
  command: Command;
  name: string;
  action: Action;
  options: Readonly<Record<string, string>>;
}

/** The command and action of an invocation; refuses names and options that there are not. */
function found(invocation: Invocation, commands: readonly Command[]): Found {
  const command = commands.find(({ name }) => name === invocation.command);
  if (!command) {
    throw new Refusal({
      code: 'unknown-command',
      problem: say`There is no command ${typed(`/${invocation.command}`)}.`,
      expected: say`/help lists them`,
      nearest: nearestNames(
        invocation.command,
        commands.map(({ name }) => ({ id: name, name: `/${name}` })),
      ),
    });
  }
  const name = Object.hasOwn(command.actions, invocation.action) ? invocation.action : undefined;
  const action = name === undefined ? undefined : command.actions[name];
  if (name === undefined || !action) {
    throw new Refusal({
      code: 'unknown-action',
      problem: say`${typed(`/${command.name}`)} has no action "${verbatim(invocation.action)}".`,
      expected: say`one of ${inRow(Object.keys(command.actions).map(typed))}`,
    });
  }
  const known = Object.keys(action.options);
  const unknown = Object.keys(invocation.options).find((option) => !known.includes(option));
  if (unknown !== undefined) {
    throw new Refusal({
      code: 'unknown-option',
      problem: say`${typed(commandPath(command, name))} has no option "${verbatim(unknown)}".`,
      expected: known.length ? say`one of ${inRow(known.map(typed))}` : say`no options`,
    });
  }
  return { command, name, action, options: invocation.options };
}

/** What a saved choice runs; refuses one that is gone, somebody else's, or out of date. */
function resolve(token: string, { store, person, now }: Context): Invocation {
  const choice = store.choices.take(token, now);
  if (!choice) {
    throw new Refusal({
      code: 'stale-choice',
      problem: say`That choice is no longer here.`,
      expected: say`the command itself, or a newer choice`,
    });
  }
  if (choice.person !== null && choice.person !== person.key) {
    throw new Refusal({
      code: 'not-allowed',
      problem: say`That choice is for somebody else.`,
      expected: say`the command in your own name`,
    });
  }
  if (choice.subject !== null && choice.revision !== null) {
    const [kind = '', number = ''] = choice.subject.split(':');
    if (revisions[kind]?.(store, Number(number)) !== choice.revision) {
      throw new Refusal({
        code: 'stale-choice',
        problem: say`That choice is out of date: ${subjectWords[kind]?.(Number(number)) ?? verbatim(choice.subject)} has moved on since it was offered.`,
        expected: say`the newest choices`,
        example: `/${kind} show ${number}`,
      });
    }
  }
  return choice.invoke;
}

/** An IMEI, or another number as long, is not repeated: each digit but the last four becomes a dot, so that a caret still fits. */
const withoutLongNumbers = (text: string): string =>
  text.replace(/\d(?:[ ./-]?\d){12,}/g, (number) => {
    let left = number.replace(/\D/g, '').length - 4;
    return number.replace(/\d/g, (digit) => {
      left -= 1;
      return left >= 0 ? '•' : digit;
    });
  });

/** What was typed, repeated: characters that could hide or turn text are replaced, one for one. */
const shownSafely = (text: string): string =>
  withoutLongNumbers(text).replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, '\uFFFD');

/** What stands between quotation marks is what was typed. */
const withoutQuotes = (title: string): string => title.replace(/(["“„«])[\s\S]*(["”“»])/, '$1…$2');

/** A secret that was typed is not repeated, whatever the line was refused for. */
const visible = ({ line, ...detail }: RefusalDetail, secrets: SecretWords): RefusalDetail => ({
  ...detail,
  ...(line === undefined || findSecret(line, secrets) ? {} : { line: shownSafely(line) }),
  ...(detail.nearest === undefined ? {} : { nearest: detail.nearest.map(shownSafely) }),
});
