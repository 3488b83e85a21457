/** A component that is named must be one of the phone's family. */
import type { Family } from '../../knowledge/schema.ts';
import { packText, say } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import { componentName } from './words.ts';

/** Refuses a component that the family has not; `option` is where it was named. */
export function mustHave(context: Context, family: Family, component: string, option: string): void {
  if (component in family.components) return;
  throw new Refusal({
    code: 'bad-option',
    problem: say`A ${packText(family.name)} has no ${componentName(context, component)}.`,
    expected: say`a component of its family`,
    option,
  });
}
