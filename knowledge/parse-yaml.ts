import type { Finding } from './locate.ts';
import { yaml } from './yaml.ts';

/** What a file holds, unchecked; null where it is no YAML, which is added to the findings with its line. */
export function parseYaml(file: string, text: string, findings: Finding[]): { raw: unknown } | null {
  const { LineCounter, parseDocument } = yaml();
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  for (const error of document.errors) {
    const { line } = lines.linePos(error.pos[0]);
    findings.push({ file, path: [], line, problem: error.message });
  }
  return document.errors.length === 0 ? { raw: document.toJS() } : null;
}
