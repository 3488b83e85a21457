import type { Family } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { pairingTable } from '../../shared/pairing/pairing.ts';
import type { Context } from '../framework/context.ts';
import { componentName } from '../shared/words.ts';

/** Names of the components that must stay with the mainboard they came with. */
export const goWithBoard = (context: Context, family: Family): Message[] =>
  pairingTable(context.knowledge, family)
    .filter(({ travels }) => travels)
    .map(({ component }) => componentName(context, component));
