/** A phone that nobody has named here: what it is is asked, with taps, and what was wanted goes on with it. */
import { languageIn } from '../../shared/language/locale.ts';
import { packText } from '../../shared/language/say.ts';
import { nameKey } from '../../shared/store/index.ts';
import { lexiconOf } from '../../shared/words/lexicon.ts';
import { readSentence } from '../../shared/words/read-sentence.ts';
import type { Context } from '../framework/context.ts';
import { type AskedFor, isNear } from '../framework/lookup.ts';
import { mayHoldImei } from '../framework/private.ts';
import type { Invocation } from '../framework/reply.ts';

/** What a tap carries has to be short. */
const MOST_CARRIED = 3500;
/** Shorter texts are close to some family by chance. */
const FAMILY_NAMED = 10;
const LONGEST_NAME = 60;

interface Meant {
  /** Null where it was called nothing but a phone. */
  name: string | null;
  /** What was said in its place is what is wrong with it. */
  wrong: boolean;
}

/** What was typed where a model was wanted: a name, or words that say something of the phone. */
function meantBy(text: string, { knowledge, locale }: Context): Meant {
  const reading = readSentence(lexiconOf(knowledge), text, { language: languageIn(locale) });
  const strange = reading.model ?? reading.notUnderstood[0] ?? reading.numbers[0];
  if (strange)
    return { name: text.trim().replace(/[:",]/g, ' ').slice(0, LONGEST_NAME).trim(), wrong: false };
  return { name: null, wrong: reading.complaints.length + reading.damage.length > 0 };
}

/** True where a name is one letter or so from one that is here, or is nearly that of a family. */
function mayBeASlip(text: string, { store, knowledge, write }: Context): boolean {
  const own = store.models.list().map(({ id, name }) => ({ id: String(id), name }));
  if (isNear(text, own)) return true;
  const families = [...knowledge.families.values()].map(({ id, name }) => ({
    id,
    name: write(packText(name)),
  }));
  return nameKey(text).length >= FAMILY_NAMED && isNear(text, families, 0.2);
}

function guess(model: string | null, invoke: Invocation, option: string | null): Invocation | null {
  const next = JSON.stringify({ ...invoke, option });
  if (next.length > MOST_CARRIED || mayHoldImei(next)) return null;
  return {
    command: 'family',
    action: 'guess',
    options: { ...(model === null ? {} : { model }), next },
  };
}

/** The questions that tell how a phone is built; with what it was called, where that is a name. */
export function askUnnamedPhone(
  text: string | undefined,
  context: Context,
  { invoke, option, options, anyway = false }: AskedFor,
): Invocation | null {
  const { [option]: _, ...others } = invoke.options;
  const rest = { ...invoke, options: others };
  if (text === undefined)
    return anyway || context.store.models.list().length === 0 ? guess(null, rest, option) : null;
  if (!anyway && mayBeASlip(text, context)) return null;
  const { name, wrong } = meantBy(text, context);
  const asSymptoms = wrong && options.includes('symptoms') && others.symptoms === undefined;
  const goOn = asSymptoms ? { ...rest, options: { ...others, symptoms: text } } : rest;
  return guess(name, goOn, option);
}

/** Has the model named with which a text begins, so that the command can be said as it was; null where no name begins it. */
export function askToName(text: string, context: Context, invoke: Invocation): Invocation | null {
  if (context.person.role === 'visitor') return null;
  const reading = readSentence(lexiconOf(context.knowledge), text, {
    language: languageIn(context.locale),
  });
  const { model } = reading;
  return model?.from === 0 && !mayBeASlip(model.text, context) ? guess(model.text, invoke, null) : null;
}

/** The same where only a model will do: somebody who may not name one is refused. */
export const askUnnamedModel: typeof askUnnamedPhone = (text, context, asked) =>
  context.person.role === 'visitor' || (text !== undefined && meantBy(text, context).name === null)
    ? null
    : askUnnamedPhone(text, context, asked);
