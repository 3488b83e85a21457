/** What was read of a phone, in words. */
import type { Message } from '../../shared/language/message.ts';
import { inSentence, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import type { SaidThing } from './said-phone.ts';
import { componentName } from './words.ts';

const historyWords: Readonly<Record<string, Message>> = {
  'missing-parts': say`parts are missing`,
};
const wishWords: Readonly<Record<string, Message>> = {
  erase: say`its data is to be erased`,
  'for-parts': say`for parts`,
  sell: say`to be sold`,
  keep: say`to be kept`,
};
const cameWords: Readonly<Record<string, Message>> = {
  given: say`given`,
  bought: say`bought`,
  left: say`left here`,
  customer: say`of a customer`,
};
const otherWords: Readonly<Record<string, Message>> = {
  software: say`its software`,
  'factory-reset': say`to be reset`,
  location: say`it does not find where it is`,
  'near-field': say`paying by holding it to a reader`,
  flash: say`its flash`,
  scratched: say`scratched`,
};

/** Of what a pack adds that has no words here: its id. */
const known = (table: Readonly<Record<string, Message>>, id: string): Message =>
  (Object.hasOwn(table, id) ? table[id] : undefined) ?? verbatim(id.replaceAll('-', ' '));

/** One thing that was said, within a sentence. */
export function thingInWords(
  context: Context,
  { kind, id, reading }: Pick<SaidThing, 'kind' | 'id' | 'reading'>,
): Message {
  const { symptoms, checks } = context.knowledge;
  switch (kind) {
    case 'symptom':
      return inSentence(packText(symptoms.get(id)?.name ?? id));
    case 'deny':
      return say`not “${inSentence(packText(symptoms.get(id)?.name ?? id))}”`;
    case 'damage':
      return say`${inSentence(componentName(context, id))} broken`;
    case 'found': {
      const [which = '', outcome] = id.split('/');
      const check = checks.get(which);
      const says = packText(check?.outcomes.find((one) => one.id === outcome)?.says ?? outcome ?? id);
      const name = inSentence(packText(check?.name ?? which));
      return reading === undefined ? plain`${name}: ${says}` : plain`${name}: ${says} (${verbatim(reading)})`;
    }
    case 'history':
      return known(historyWords, id);
    case 'wish':
      return known(wishWords, id);
    case 'came':
      return known(cameWords, id);
    case 'other':
      return known(otherWords, id);
  }
}
