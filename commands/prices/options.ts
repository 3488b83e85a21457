/** The model that a price is of. */

import { say } from '../../shared/language/say.ts';
import type { Named } from '../framework/lookup.ts';
import { lookupOption } from '../framework/option.ts';
import { models, modelsToName } from '../shared/lookups.ts';

export const pricedModelOption = lookupOption({
  lookup: models,
  summary: say`The model, named with /family name`,
  example: 'Orrin K3',
});
/** The same, where one that nobody has named can be named on the way. */
export const newlyPricedModelOption = lookupOption({
  lookup: modelsToName,
  summary: say`The model, named with /family name`,
  example: 'Orrin K3',
});
export const modelIdOf = (named: Named): number => Number(named.id);
