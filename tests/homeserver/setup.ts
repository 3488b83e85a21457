/** Once for all homeserver tests: Synapse in its environment, running. Where it cannot be had, the tests are skipped. */
import type { TestProject } from 'vitest/node';
import { openSynapse, prepareSynapse } from './synapse.ts';

declare module 'vitest' {
  export interface ProvidedContext {
    /** Null where there is no Synapse. */
    homeserver: { url: string; name: string; secret: string } | null;
  }
}

export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const missing = prepareSynapse();
  if (missing !== null) {
    process.stderr.write(`The homeserver tests are skipped: ${missing}.\n`);
    project.provide('homeserver', null);
    return async () => {};
  }
  const { url, name, secret, close } = await openSynapse();
  project.provide('homeserver', { url, name, secret });
  return close;
}
