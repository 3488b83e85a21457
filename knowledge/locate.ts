import { readFileSync } from 'node:fs';
import { relative } from 'node:path';
import { yaml } from './yaml.ts';

/** Something wrong at a place: `path` leads from the top of the file, such as [3, 'given', 'faults', 'dead-cell']. */
export interface Finding {
  file: string;
  path: readonly PropertyKey[];
  problem: string;
  /** Where the parser itself stopped; otherwise the path is looked up. */
  line?: number;
}
/** `file` is relative to the working folder where it lies below it; `line` counts from 1. */
export interface PackProblem {
  file: string;
  line: number;
  problem: string;
}

/** Reads a file again, this time with positions, and returns the line of a path, or of as much of it as there is. */
function linesOf(file: string): (path: readonly PropertyKey[]) => number {
  const { LineCounter, parseDocument, isMap, isNode, isScalar, isSeq } = yaml();
  let source: string;
  try {
    source = readFileSync(file, 'utf8');
  } catch {
    return () => 1;
  }
  const lines = new LineCounter();
  const { contents } = parseDocument(source, { lineCounter: lines });
  return (path) => {
    let node: unknown = contents;
    let offset = 0;
    for (const key of path) {
      let next: unknown;
      if (isMap(node)) {
        const pair = node.items.find((item) => isScalar(item.key) && String(item.key.value) === String(key));
        if (!pair) break;
        if (isNode(pair.key)) offset = pair.key.range?.[0] ?? offset;
        next = pair.value;
      } else if (isSeq(node)) {
        next = node.items[Number(key)];
        if (isNode(next)) offset = next.range?.[0] ?? offset;
      } else break;
      node = next;
    }
    return lines.linePos(offset).line || 1;
  };
}

/** Findings with their lines, in the order of files and lines. */
export function locate(findings: readonly Finding[]): PackProblem[] {
  const readers = new Map<string, (path: readonly PropertyKey[]) => number>();
  const problems = findings.map(({ file, path, problem, line }) => {
    const reader = readers.get(file) ?? linesOf(file);
    readers.set(file, reader);
    const near = relative(process.cwd(), file);
    return { file: near.startsWith('..') ? file : near, line: line ?? reader(path), problem };
  });
  return problems.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : a.line - b.line));
}
