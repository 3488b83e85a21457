/** The channel or forum in which jobs have their threads: what the bot needs there. */
import { rights } from './api.ts';

/** By the names that Discord's settings give them. */
const needed: readonly (readonly [right: bigint, name: string])[] = [
  [rights.view, 'View Channel'],
  [rights.send, 'Send Messages'],
  [rights.embed, 'Embed Links'],
  [rights.history, 'Read Message History'],
  [rights.threads, 'Create Public Threads'],
  [rights.sendInThreads, 'Send Messages in Threads'],
];
export const allJobRights: readonly string[] = needed.map(([, name]) => name);

/** Names of the rights that are missing for threads of jobs. */
export const missingJobRights = (granted: bigint): string[] =>
  granted & rights.administrator ? [] : needed.flatMap(([right, name]) => (granted & right ? [] : [name]));
