/** What is wrong with a pack is said in plain words, whatever the schema found: pack editors are no programmers. */

import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { inspectPack, packFolder } from '../../knowledge/load.ts';
import { locate } from '../../knowledge/locate.ts';
import { issueInWords } from '../../knowledge/schema-words.ts';
import { jsonColumn, sqlOn } from '../../shared/store/sql.ts';
import { packIn, temporary } from './small-pack.ts';

/** What zod says of its own accord. */
const RAW = /Invalid|Too (?:small|big)|Unrecognized|received|must (?:match|have|be)|[<>]=?\d|expected/;

/** "line problem" of each problem of a folder that is laid over the pack. */
const told = (folder: string): string[] =>
  locate(inspectPack([packFolder, folder], null).findings).map(({ line, problem }) => `${line} ${problem}`);

describe('what is wrong with a pack', () => {
  const fault = 'id: odd-one, name: Odd, component: battery, weight: 1, why: So., ground: practice';
  it.each([
    ['another type', fault.replace('Odd', '5'), '1 odd-one: name is 5: wanted text'],
    ['text for a number', fault.replace('weight: 1', 'weight: much'), 'weight is "much": wanted a number'],
    ['nothing', fault.replace('name: Odd, ', ''), '1 odd-one: name: missing, wanted text'],
    ['too little', fault.replace('weight: 1', 'weight: -1'), 'weight is -1: wanted more than 0'],
    ['no text', fault.replace('why: So.', 'why: ""'), 'why is "": wanted text of at least 1 character'],
    ['a field that is none', `${fault}, wieght: 2`, 'odd-one: there is no field "wieght" here'],
    ['no id', fault.replace('odd-one', 'Odd One'), 'an id is lower-case words joined by hyphens'],
    ['no ground', fault.replace(', ground: practice', ''), 'ground: missing, wanted practice, memory, or {'],
    ['no list', `${fault}, with: dry`, 'with is "dry": wanted a list'],
  ])('%s', (_, entry, words) => {
    const problems = told(packIn({ faults: `- {${entry}}\n` }));
    expect(problems.join('\n')).toContain(words);
    expect(problems.join('\n')).not.toMatch(RAW);
  });

  it('a value that is none of those there are', () => {
    const remedy =
      '- {id: odd, name: Odd, works: {dead-cell: 3}, parts: [], consumables: 0, minutes: 5, hazards: [thunder], access: wide, steps: [], disclose: [], keeps: 1, ground: practice}\n';
    const problems = told(packIn({ remedies: remedy })).join('\n');
    expect(problems).toContain('1 odd: access is "wide": wanted one of closed, open, board');
    expect(problems).toContain('1 odd: hazards.0 is "thunder": wanted one of heats, ');
    expect(problems).toContain('1 odd: works.dead-cell is 3: wanted at most 1');
    expect(problems).toContain('1 odd: steps: wanted at least 1 entry');
    expect(problems).not.toMatch(RAW);
  });

  it('words of danger and of secrets, with file and line', () => {
    const folder = temporary('words-');
    for (const [name, text] of [
      ['words', 'danger:\n  swollen: 3\n  sets: {"Two Words": a}\nnames: 1\n'],
      ['secrets', 'opens: [3]\nwords: 1\nnames:\n  - { kind: thing, words: a }\n'],
    ] as const) {
      mkdirSync(join(folder, name));
      writeFileSync(join(folder, name, 'en.yaml'), text);
    }
    const problems = told(folder).join('\n');
    expect(problems).toContain('there is no field');
    expect(problems).toContain('wanted one of passcode');
    expect(problems).toContain('the name of a set is lower-case letters with hyphens');
    expect(problems).not.toMatch(RAW);
  });
});

describe('a row of the store that was altered', () => {
  it('is told of by its table and column, in plain words and without what is in it', () => {
    const file = new Sqlite(':memory:');
    file.exec('CREATE TABLE jobs (price, notes); INSERT INTO jobs VALUES (\'dear\', \'{"at":"4711"}\')');
    const sql = sqlOn(file, () => {});
    const read = (row: z.ZodType) => () => sql.one(row, 'SELECT price, notes FROM jobs');
    expect(read(z.object({ price: z.number() }))).toThrow(
      'a row of jobs cannot be read: price: wanted a number',
    );
    expect(read(z.object({ notes: jsonColumn(z.object({ at: z.iso.date() })) }))).toThrow(
      'a row of jobs cannot be read: notes.at: wanted a date such as 2026-03-02',
    );
    expect(read(z.object({ notes: jsonColumn(z.object({ by: z.string() })) }))).toThrow(
      'a row of jobs cannot be read: notes.by: missing, wanted text',
    );
    file.close();
  });
});

describe('the words for what a schema finds', () => {
  it.each<[z.ZodType, unknown, string]>([
    [z.array(z.number()).max(1), [1, 2], 'wanted at most 1 entry'],
    [z.string().max(2), 'abc', 'wanted text of at most 2 characters'],
    [z.number().lt(5), 5, 'wanted less than 5'],
    [z.int(), 1.5, 'wanted a whole number'],
    [z.number().multipleOf(5), 7, 'wanted a multiple of 5'],
    [z.literal('yes'), 'no', 'wanted yes'],
    [z.boolean(), 1, 'wanted true or false'],
    [z.url(), 'x', 'wanted a web address such as https://example.org'],
    [z.string().regex(/^a$/), 'b', 'wanted another form'],
    [z.string().regex(/^a$/, 'the letter a'), 'b', 'the letter a'],
    [z.union([z.string(), z.boolean()]), 1, 'wanted another form'],
    [z.strictObject({}), { a: 1, b: 2 }, 'there are no fields "a", "b" here'],
  ])('%#', (schema, value, words) => {
    const [issue] = schema.safeParse(value, { error: issueInWords }).error?.issues ?? [];
    expect(issue?.message).toBe(words);
  });
});
