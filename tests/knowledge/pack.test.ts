import { execFileSync, spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { inspectPack, packFolder } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import { brokenPack } from './small-pack.ts';

const root = new URL('../..', import.meta.url);
const counts = ['families', 'components', 'symptoms', 'faults', 'checks', 'remedies', 'cautions', 'sources'];

describe('the pack that comes with the bot', () => {
  const { knowledge, findings } = inspectPack([packFolder]);

  it('has nothing wrong with it', () => {
    expect(locate(findings)).toEqual([]);
  });

  it('is as large as the job needs', () => {
    expect(knowledge.families.size).toBeGreaterThanOrEqual(14);
    expect(knowledge.components.size).toBeGreaterThanOrEqual(18);
    expect(knowledge.symptoms.size).toBeGreaterThanOrEqual(25);
    expect(knowledge.faults.size).toBeGreaterThanOrEqual(45);
    expect(knowledge.checks.size).toBeGreaterThanOrEqual(60);
    expect(knowledge.remedies.size).toBeGreaterThanOrEqual(50);
    expect(knowledge.cautions.size).toBeGreaterThanOrEqual(13);
  });
});

describe('npm run knowledge', () => {
  it('prints exactly the counts with --json', () => {
    const folder = brokenPack('symptoms', 'dead-cell: 0.9', 'dead-cell: 1.2');
    const { stdout, status } = spawnSync(
      process.execPath,
      ['knowledge/report.ts', '--json', '--pack', folder],
      {
        cwd: root,
        encoding: 'utf8',
      },
    );
    const printed: unknown = JSON.parse(stdout);
    expect(Object.keys(Object(printed))).toEqual([...counts, 'problems']);
    expect(printed).toMatchObject({ families: 1, components: 3, symptoms: 0, faults: 2, problems: 1 });
    expect(status).toBe(1);
  });

  it('prints each problem with file and line, and ends with 1', () => {
    const folder = brokenPack('symptoms', 'dead-cell: 0.9', 'dead-cell: 1.2');
    const { stdout, status } = spawnSync(process.execPath, ['knowledge/report.ts', '--pack', folder], {
      cwd: root,
      encoding: 'utf8',
    });
    expect(stdout).toContain(`${folder}/symptoms.yaml:7 dead: seen.faults.dead-cell is 1.2:`);
    expect(status).toBe(1);
  });

  it('ends with 0 for a pack that is right', () => {
    const folder = brokenPack('faults', 'It is old.', 'It is worn.');
    const printed = execFileSync(process.execPath, ['knowledge/report.ts', '--pack', folder], {
      cwd: root,
      encoding: 'utf8',
    });
    expect(printed).toContain('   0 problems');
  });
});
