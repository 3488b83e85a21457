/**
 * The reply document: what a command answers, before any surface has drawn it. A command makes a draft, whose texts are
 * messages; the dispatcher renders it in the reader's language. What comes out holds plain values only, so it can be saved.
 */
import { z } from 'zod';
import { languageIn, languages, locale } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { type Rendering, renderAll } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';

/** What every block may have. `back`: it stands on the reply's back (`commands/framework/sides.ts`). */
const shared = { heading: z.string().optional(), back: z.boolean().optional() };

/** Text in a block is plain: no markup. A surface escapes it and lays it out. */
const blockSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('text'), ...shared, text: z.string() }),
  z.object({
    kind: z.literal('facts'),
    ...shared,
    facts: z.array(z.object({ label: z.string(), value: z.string() })),
  }),
  z.object({
    kind: z.literal('table'),
    ...shared,
    columns: z.array(z.object({ label: z.string(), align: z.enum(['left', 'right']) })),
    rows: z.array(z.array(z.string())),
  }),
  z.object({ kind: z.literal('steps'), ...shared, ordered: z.boolean(), steps: z.array(z.string()) }),
  z.object({ kind: z.literal('quote'), ...shared, text: z.string(), by: z.string().optional() }),
  /** Shares from 0 to 1, drawn as a short bar list. */
  z.object({
    kind: z.literal('bars'),
    ...shared,
    bars: z.array(z.object({ label: z.string(), share: z.number().min(0).max(1) })),
  }),
  /** A line of input with the part from..to (UTF-16 offsets) pointed at by a caret. */
  z.object({
    kind: z.literal('pointer'),
    back: z.boolean().optional(),
    line: z.string(),
    from: z.number().int(),
    to: z.number().int(),
  }),
]);
export type Block = z.infer<typeof blockSchema>;

const cautionCardSchema = z.object({
  id: z.string(),
  name: z.string(),
  tone: z.enum(['caution', 'danger']),
  lead: z.string(),
  points: z.array(z.string()),
  /** One line with when to stop, for the front. A card without one is never shortened. */
  line: z.string().optional(),
  /** Said to this person for this phone already. */
  brief: z.boolean().optional(),
});
export type CautionCard = z.infer<typeof cautionCardSchema>;

/** A command with its options as text: what a choice does, and what a surface may run. */
const invocationSchema = z.object({
  command: z.string(),
  action: z.string(),
  options: z.record(z.string(), z.string()),
});
export type Invocation = z.infer<typeof invocationSchema>;

/**
 * An answer the person can give next: a saved continuation. `subject` and `revision` say what it was offered for; when
 * that has moved on, the choice is refused. The dispatcher fills in `token` when it saves the choice.
 */
const choiceSchema = z.object({
  label: z.string(),
  invoke: invocationSchema,
  subject: z.string().optional(),
  revision: z.number().int().optional(),
  /** Anyone in the room may answer, not only the asker. */
  open: z.boolean().optional(),
  /** It tells of a danger: drawn so, behind the answers. */
  danger: z.boolean().optional(),
  /** The answer that goes on, or the likeliest: drawn so. At most one of a reply. */
  main: z.boolean().optional(),
  /** No answer to what is asked, but something else that can be done here: drawn smaller. */
  aside: z.boolean().optional(),
  /**
   * Those with the same `title` can be taken several at once: the values of the option in which they differ add up. `label`: what
   * one of them is called below that title.
   */
  several: z.object({ title: z.string(), label: z.string() }).optional(),
  /** An option that is given first, in a form; not offered where a surface has none. */
  fill: z.string().optional(),
  token: z.string().optional(),
});
type Choice = z.infer<typeof choiceSchema>;

export const fileSchema = z.object({
  name: z.string(),
  mime: z.string(),
  alt: z.string(),
  /** The file itself where it is text; otherwise what the edge is to draw. */
  text: z.string().optional(),
  draw: z.object({ kind: z.string(), data: z.unknown() }).optional(),
});

export const replySchema = z.object({
  outcome: z.enum(['answered', 'refused', 'fault']),
  audience: z.enum(['room', 'asker']),
  title: z.string(),
  tone: z.enum(['plain', 'good', 'caution', 'danger']),
  cautions: z.array(cautionCardSchema),
  /** Stands over the cautions, once: that local codes come first. */
  before: z.string().optional(),
  blocks: z.array(blockSchema),
  choices: z.array(choiceSchema),
  sources: z.array(z.object({ id: z.string(), title: z.string() })),
  files: z.array(fileSchema),
  /** The same answer as a typed value; each command exports its schema. */
  data: z.unknown(),
  /** In which language it is said; a surface's own words around it are in the same. */
  language: z.enum(languages).default('en'),
  /** The same was said to the same person a moment ago: a surface that may leave a request unanswered does. */
  repeats: z.boolean().optional(),
});
export type Reply = z.infer<typeof replySchema>;
export type ReplyFile = Reply['files'][number];

/** What a caution's card is headed with. */
export const toneWord = (tone: CautionCard['tone']): Message =>
  tone === 'danger' ? say`Danger` : say`Caution`;

/** Where a number in `data.inputs` comes from. */
export const inputSchema = z.object({
  name: z.string(),
  value: z.union([z.string(), z.number(), z.boolean(), z.null()]),
  ground: z.enum(['given', 'collective', 'published', 'practice', 'memory', 'assumed', 'computed']),
  note: z.string().optional(),
});
export type Input = z.infer<typeof inputSchema>;

/** The reply's parts before they are put into words. */
export type DraftBlock = { back?: boolean } & (
  | { kind: 'text'; heading?: Message; text: Message }
  | { kind: 'facts'; heading?: Message; facts: { label: Message; value: Message }[] }
  | {
      kind: 'table';
      heading?: Message;
      columns: { label: Message | ''; align: 'left' | 'right' }[];
      rows: (Message | '')[][];
    }
  | { kind: 'steps'; heading?: Message; ordered: boolean; steps: Message[] }
  | { kind: 'quote'; heading?: Message; text: Message; by?: Message }
  | { kind: 'bars'; heading?: Message; bars: { label: Message; share: number }[] }
  | { kind: 'pointer'; line: string; from: number; to: number }
);
export interface DraftCard extends Pick<CautionCard, 'id' | 'tone' | 'brief'> {
  name: Message;
  lead: Message;
  points: Message[];
  line?: Message;
}
export interface DraftChoice extends Omit<Choice, 'label' | 'several'> {
  label: Message;
  several?: { title: Message; label: Message };
}
interface DraftFile extends Omit<z.infer<typeof fileSchema>, 'alt' | 'text'> {
  alt: Message;
  text?: string | Message;
}
export interface Draft<D = unknown>
  extends Omit<
    Reply,
    'title' | 'cautions' | 'blocks' | 'choices' | 'files' | 'before' | 'language' | 'repeats' | 'data'
  > {
  data: D;
  title: Message;
  before?: Message;
  cautions: DraftCard[];
  blocks: DraftBlock[];
  choices: DraftChoice[];
  files: DraftFile[];
}

/** A draft in words. Where something had to stay in English, the reply says so once. */
export function renderReply(draft: Draft, how: Omit<Rendering, 'missing'>): Reply {
  let lacking = false;
  const missing = () => {
    lacking = true;
  };
  const { instants: _, ...inPlainWords } = how;
  const made = replySchema.parse({
    ...Object(renderAll(draft, { ...how, missing })),
    // What is in a file is read outside of the surface.
    files: renderAll(draft.files, { ...inPlainWords, missing }),
    language: languageIn(how.locale),
  });
  if (!lacking) return made;
  const note = renderAll(text(say`Some of this is in English: nobody has translated it yet.`), how);
  return { ...made, blocks: [...made.blocks, blockSchema.parse(note)] };
}

/** What a surface says by itself: in the locale of the request, or in the room's where that is another and all read it. */
export const inWords = (draft: Draft, room: string = locale()): Reply =>
  renderReply(draft, {
    locale: draft.audience === 'room' && draft.outcome === 'answered' ? room : locale(),
  });

/** Builds an answered reply; what is left out is empty. */
export function reply<D>(part: Partial<Draft<D>> & Pick<Draft<D>, 'title' | 'data'>): Draft<D>;
export function reply(part: Partial<Omit<Draft, 'data'>> & Pick<Draft, 'title'>): Draft<null>;
export function reply(part: Partial<Draft> & Pick<Draft, 'title'>): Draft {
  return {
    outcome: 'answered',
    audience: 'room',
    tone: 'plain',
    cautions: [],
    blocks: [],
    choices: [],
    sources: [],
    files: [],
    data: null,
    ...part,
  };
}

/** The same blocks for the back of a reply: shown to who asks for more. */
export const onBack = (...blocks: readonly DraftBlock[]): DraftBlock[] =>
  blocks.map((block) => ({ ...block, back: true }));

export const text = (body: Message, heading?: Message): DraftBlock => ({
  kind: 'text',
  text: body,
  ...(heading ? { heading } : {}),
});
export const facts = (
  rows: readonly (readonly [label: Message, value: Message])[],
  heading?: Message,
): DraftBlock => ({
  kind: 'facts',
  facts: rows.map(([label, value]) => ({ label, value })),
  ...(heading ? { heading } : {}),
});
export const steps = (lines: readonly Message[], heading?: Message, ordered = true): DraftBlock => ({
  kind: 'steps',
  ordered,
  steps: [...lines],
  ...(heading ? { heading } : {}),
});
/** A column that is set right: numbers. */
export const right = (label: Message) => ({ label, align: 'right' as const });
export const table = (
  columns: readonly (Message | '' | ReturnType<typeof right>)[],
  rows: readonly (readonly (Message | '')[])[],
  heading?: Message,
): DraftBlock => ({
  kind: 'table',
  columns: columns.map((column) =>
    typeof column === 'object' && 'align' in column ? column : { label: column, align: 'left' },
  ),
  rows: rows.map((row) => [...row]),
  ...(heading ? { heading } : {}),
});
