/** What the bot says, taken from its replies, with the source that each line names. */
import { cautionDataSchema } from '../../commands/caution.ts';
import { pairedDataSchema } from '../../commands/paired/paired-data.ts';
import type { Ground } from '../../knowledge/schema.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { type TestBot, testBot } from '../test-bot.ts';

export interface Said {
  text: string;
  ground: Ground;
}

let shared: TestBot | undefined;
/** An empty collective in Sydney; nothing in this folder writes to it. */
export const tin = (): TestBot => {
  shared ??= testBot();
  return shared;
};

const sourceIn = (ground: Ground): string | null => (typeof ground === 'string' ? null : ground.source);

/** Every line of a caution, by heading, as `/caution` answers in a region (default: the collective's own). */
export function caution(id: string, region?: string | null): Record<string, Said[]> & { all: Said[] } {
  const one = region === undefined ? tin() : testBot();
  if (region !== undefined) one.store.saveSettings({ ...one.collective.settings, region });
  const reply = one.say(`/caution ${id}`);
  const data = cautionDataSchema.parse(reply.data);
  if (data.kind !== 'caution') throw new Error(`no caution ${id}`);
  const named = new Set(reply.sources.map((source) => source.id));
  const shown = reply.blocks.flatMap((block) => (block.kind === 'steps' ? [block] : []));
  const parts = shown.map(({ heading = '', steps }, index) => ({
    heading,
    says: steps.map((line, at) => ({
      // What has no source is marked.
      text: line.replace(/ \*+$/, ''),
      ground: data.parts[index]?.grounds[at] ?? ('memory' as const),
    })),
  }));
  const all = parts.flatMap(({ says }) => says);
  for (const { ground } of all) {
    const source = sourceIn(ground);
    if (source !== null && !named.has(source)) throw new Error(`${id} does not name ${source}`);
  }
  return { ...Object.fromEntries(parts.map(({ heading, says }) => [heading, says])), all };
}

/** The one line of a caution that a pattern finds; an error when it finds none or several. */
export function lineOf(id: string, pattern: RegExp): Said & { source: string | null } {
  const found = caution(id).all.filter(({ text }) => pattern.test(text));
  const [line] = found;
  if (!line || found.length > 1) throw new Error(`${found.length} lines of ${id} match ${pattern}`);
  return { ...line, source: sourceIn(line.ground) };
}

/** A lesson, as `/paired` shows it for a component of a family that has it, its source named by the same reply. */
export function lesson(
  id: string,
  component: string,
  family = 'glued-back-under-display',
): { says: string; source: string | null; ground: Ground } {
  const reply = tin().say(`/paired ${family} component:${component} lessons:all`, { as: id });
  const data = pairedDataSchema.parse(reply.data);
  const found = data.kind === 'component' ? data.lessons.find((one) => one.id === id) : undefined;
  if (!found) throw new Error(`no lesson ${id} about ${component} of ${family}`);
  const shown = reply.blocks.flatMap((block) => (block.kind === 'steps' ? block.steps : []));
  const says = tin()
    .context()
    .knowledge.lessons.find((one) => one.id === id)?.says;
  if (says === undefined || !shown.some((line) => line.startsWith(says)))
    throw new Error(`${id} is not shown`);
  const source = sourceIn(found.ground);
  if (source !== null && !reply.sources.some((one) => one.id === source))
    throw new Error(`${id} does not name ${source}`);
  return { says, source, ground: found.ground };
}

/** The outcome that a typed reading falls into; null when the check refuses it. */
export function outcomeOf(check: string, reading: string): string | null {
  const found = tin().context().knowledge.checks.get(check);
  if (!found) throw new Error(`no check ${check}`);
  const answer = readAnswer(found, reading);
  return answer.ok ? answer.outcome.id : null;
}
