import type {
  Caution,
  Check,
  Component,
  Family,
  Fault,
  Law,
  Lesson,
  Pairing,
  Regions,
  Remedy,
  Source,
  Symptom,
} from './schema.ts';
// placeholder until the loader lands
export interface Knowledge {
  version: string;
  sources: ReadonlyMap<string, Source>;
  features: ReadonlyMap<string, { id: string; says: string }>;
  components: ReadonlyMap<string, Component>;
  families: ReadonlyMap<string, Family>;
  pairing: readonly Pairing[];
  symptoms: ReadonlyMap<string, Symptom>;
  faults: ReadonlyMap<string, Fault>;
  checks: ReadonlyMap<string, Check>;
  remedies: ReadonlyMap<string, Remedy>;
  cautions: ReadonlyMap<string, Caution>;
  laws: readonly Law[];
  lessons: readonly Lesson[];
  regions: Regions;
}
