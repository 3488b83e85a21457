/**
 * Kills the program again and again under mixed load (`npm run node tests/bench/kills.ts [KILLS] [SEED] [matrix]`) and counts what
 * is lost, there twice, or posted twice: at the terminal and on the loopback Discord, or, with the word `matrix`, at a
 * Synapse on this machine. Ends with 1 when anything is.
 */
import { prepareSynapse } from '../homeserver/synapse.ts';
import { runKills } from '../kills/harness.ts';
import { runMatrixKills } from '../kills/matrix.ts';

const [kills = '500', seed = '1', where = ''] = process.argv.slice(2);
const parts = { kills: Number(kills), seed: Number(seed), told: (line: string) => console.error(line) };
const missing = where === 'matrix' ? prepareSynapse() : null;
if (missing !== null) throw new Error(`no Synapse: ${missing}`);
const found = where === 'matrix' ? await runMatrixKills(parts) : await runKills(parts);
const { kills: byMoment, wrong, ...counts } = found;
for (const [moment, count] of Object.entries(byMoment).sort()) console.log(`kills.${moment} ${count}`);
for (const [name, count] of Object.entries(counts)) console.log(`kills.${name} ${count}`);
console.log(`kills.wrong ${wrong.length}`);
for (const line of wrong) console.log(`  ${line}`);
process.exitCode = wrong.length ? 1 : 0;
