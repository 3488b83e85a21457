import { createRequire } from 'node:module';
import type * as Yaml from 'yaml';

const require = createRequire(import.meta.url);

/** The YAML library, loaded when first needed: it costs more than the whole pack does from its cache. */
export const yaml = (): typeof Yaml => require('yaml');
