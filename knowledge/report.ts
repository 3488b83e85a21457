/**
 * `npm run knowledge [-- --json] [--pack DIR ...]`: counts what the pack holds and lists what is wrong with it. Of a pack that is
 * right it also says what it lacks.
 */
import { parseArgs } from 'node:util';
import {
  closedFamilies,
  rowsByGround,
  unasked,
  unevenRows,
  unnamed,
  unparted,
  withoutOwnMinutes,
} from './gaps.ts';
import { inspectPack, type Knowledge, packFolder } from './load.ts';
import { locate } from './locate.ts';
import { classShares, divergence, readRepairEvents, sayable, stillUnsaid } from './repair-events.ts';

/** A row that falls by less is close enough to a part of a noisy-MAX. */
const UNEVEN = 0.07;
const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

/** What the pack lacks, a line each. */
function lacks(knowledge: Knowledge): string[] {
  const pairs = unparted(knowledge);
  const open = pairs.filter(({ because }) => because === null);
  const minutes = withoutOwnMinutes(knowledge);
  const rows = rowsByGround(knowledge);
  const list = (ids: readonly string[]) => (ids.length ? `: ${ids.join(', ')}` : '');
  const silent = unnamed(knowledge);
  const idle = unasked(knowledge);
  const shut = closedFamilies(knowledge);
  const uneven = unevenRows(knowledge).filter(({ fall }) => fall > UNEVEN);
  const unevenChecks = new Map<string, number>();
  for (const { check } of uneven) unevenChecks.set(check, (unevenChecks.get(check) ?? 0) + 1);
  return [
    `${open.length} pairs of faults that no check parts, ${pairs.length - open.length} with the reason why`,
    ...open.map(
      ({ symptom, faults, overlap, families }) =>
        `     ${faults.join(' and ')} overlap by ${overlap.toFixed(2)}${symptom ? ` with ${symptom}` : ''} (${families.length} families)`,
    ),
    `${idle.length} checks that nothing asks for${list(idle)}`,
    `${silent.length} symptoms that nobody's words name${list(silent)}`,
    `${shut.length} families without a way to open${list(shut)}`,
    `${minutes.length} remedies with the same minutes in every family${list(minutes.map(({ remedy, families }) => `${remedy} (${families.length})`))}`,
    `${uneven.length} rows of checks that are no part of a noisy-MAX${list([...unevenChecks].map(([id, count]) => `${id} (${count})`))}`,
    `${rows.practice + rows.memory} rows without a source (${rows.practice} common practice, ${rows.memory} from memory), ${rows.source} with one`,
  ];
}

/** The pack beside what is brought to repair events, a line each. */
function besideEvents(knowledge: Knowledge): string[] {
  const events = readRepairEvents();
  const shares = classShares(knowledge, events);
  const { share, without } = sayable(knowledge, events);
  const unsaid = stillUnsaid(knowledge, events);
  return [
    `${divergence(shares).toFixed(3)} nats from the counts of repair events (${events.source}); the class, the counts, the pack:`,
    ...shares.map(
      ({ classes, counted, pack }) => `     ${classes.join(' + ')} ${percent(counted)} ${percent(pack)}`,
    ),
    `${percent(share)} of what is brought there has a name${without.length ? `; not ${without.join(', ')}` : ''}`,
    `${unsaid.length} of ${events['once-unsaid'].kinds.length} kinds that once could not be said still cannot${unsaid.length ? `: ${unsaid.join('; ')}` : ''}`,
  ];
}

const { values } = parseArgs({
  options: { json: { type: 'boolean' }, pack: { type: 'string', multiple: true } },
});
const { knowledge, findings, notes } = values.pack
  ? inspectPack(values.pack, null)
  : inspectPack([packFolder]);
const problems = locate(findings);
const counts = {
  families: knowledge.families.size,
  components: knowledge.components.size,
  symptoms: knowledge.symptoms.size,
  faults: knowledge.faults.size,
  checks: knowledge.checks.size,
  remedies: knowledge.remedies.size,
  cautions: knowledge.cautions.size,
  sources: knowledge.sources.size,
  problems: problems.length,
};

if (values.json) {
  console.log(JSON.stringify(counts));
} else {
  for (const [name, count] of Object.entries(counts)) console.log(`${String(count).padStart(4)} ${name}`);
  for (const { file, line, problem } of problems) console.log(`${file}:${line} ${problem}`);
  for (const { file, line, problem } of locate(notes)) console.log(`${file}:${line} note: ${problem}`);
  if (problems.length === 0) {
    console.log('');
    for (const line of lacks(knowledge)) console.log(line);
    // The counts stand beside the pack that comes with the bot, alone or with a folder laid over it.
    if (!values.pack || knowledge.faults.has('display-cracked'))
      for (const line of besideEvents(knowledge)) console.log(line);
  }
}
process.exitCode = problems.length ? 1 : 0;
