/** Replies as a surface gets them, of plain texts: for tests of what a surface makes of them. */
import { type Block, reply as draft, type Reply, renderReply } from '../commands/framework/reply.ts';
import { typed } from '../shared/language/say.ts';

const empty = renderReply(draft({ title: typed('-') }), { locale: 'en' });
export const reply = (part: Partial<Reply> & Pick<Reply, 'title'>): Reply => ({ ...empty, ...part });

const headed = (heading?: string) => (heading ? { heading } : {});
export const text = (body: string, heading?: string): Block => ({
  kind: 'text',
  text: body,
  ...headed(heading),
});
export const facts = (
  rows: readonly (readonly [label: string, value: string])[],
  heading?: string,
): Block => ({
  kind: 'facts',
  facts: rows.map(([label, value]) => ({ label, value })),
  ...headed(heading),
});
export const steps = (lines: readonly string[], heading?: string, ordered = true): Block => ({
  kind: 'steps',
  ordered,
  steps: [...lines],
  ...headed(heading),
});
/** A column whose label starts with '>' is set right. */
export const table = (
  columns: readonly string[],
  rows: readonly (readonly string[])[],
  heading?: string,
): Block => ({
  kind: 'table',
  columns: columns.map((label) =>
    label.startsWith('>') ? { label: label.slice(1), align: 'right' } : { label, align: 'left' },
  ),
  rows: rows.map((row) => [...row]),
  ...headed(heading),
});
export type { Block, Reply };
