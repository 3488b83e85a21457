/** `npm run knowledge [-- --json] [--pack DIR ...]`: counts what the pack holds and lists what is wrong with it. */
import { parseArgs } from 'node:util';
import { inspectPack, packFolder } from './load.ts';
import { locate } from './locate.ts';

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
}
process.exitCode = problems.length ? 1 : 0;
