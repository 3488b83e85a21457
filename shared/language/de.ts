import type { Catalogue } from './say.ts';
export const german: Catalogue = {};
