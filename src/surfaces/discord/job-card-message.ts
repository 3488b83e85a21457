/** The card of a job as one message, with a first line that a notification shows. */

import type { Reply } from '../../../commands/framework/reply.ts';
import { frontOf } from '../../../commands/framework/sides.ts';
import type { JobCard } from '../job-cards.ts';
import { escapeClipped } from './escape.ts';
import { messagesOf, type OutgoingMessage } from './outgoing.ts';
import { markOf } from './poster.ts';
import type { Embed } from './render.ts';

type Body = OutgoingMessage['body'];

/** Discord's limits of one message ("Embed Limits"), with some room for the footer. */
const MOST = { text: 5900, embeds: 10, content: 2000 } as const;
const sizeOf = ({ title = '', description = '' }: Embed): number => title.length + description.length;

/** All pages on one message: the answer whole, and of the cautions before it as many as fit. */
function onePage(pages: readonly Body[], footer: string): Embed[] {
  const all = pages.flatMap(({ embeds }) => embeds).map(({ footer: _, ...embed }): Embed => embed);
  const answer = all.at(-1);
  if (!answer) return [];
  const kept: Embed[] = [];
  let left = MOST.text - sizeOf(answer) - footer.length;
  for (const embed of all.slice(0, -1)) {
    if (sizeOf(embed) > left || kept.length >= MOST.embeds - 1) continue;
    kept.push(embed);
    left -= sizeOf(embed);
  }
  return [...kept, { ...answer, footer: { text: footer } }];
}

/** `asTyped`: commands as they are typed in the server that it goes to. */
export function cardMessage({ reply, key }: JobCard, asTyped: (reply: Reply) => Reply): Body {
  const pages = messagesOf(asTyped(frontOf(reply)), [], { command: 'job', request: null }).map(
    ({ body }) => body,
  );
  const [first] = pages;
  const last = pages.at(-1);
  if (!first || !last) throw new Error('a card without a page');
  const about = escapeClipped(reply.title, 250);
  return {
    ...last,
    content: [about, first.content].filter(Boolean).join('\n').slice(0, MOST.content),
    embeds: onePage(pages, markOf(key)),
  };
}
