/**
 * Opens the store of a folder, or changes its key, and is killed before its N-th step: a step is anything done to a file
 * but the store, and any sealing. Run as: stopped.ts FOLDER open|change N. Ends with 0 where it has fewer steps.
 */
import crypto from 'node:crypto';
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';

const [folder = '', what = '', stop = ''] = process.argv.slice(2);
let steps = 0;
const counted = <T extends (...args: never[]) => unknown>(real: T): T =>
  new Proxy(real, {
    apply: (target, self, args) => {
      steps += 1;
      // Unlike an exception, it leaves no time to tidy up.
      if (steps === Number(stop)) process.kill(process.pid, 'SIGKILL');
      return Reflect.apply(target, self, args);
    },
  });
const { writeFileSync, fsyncSync, renameSync, linkSync, rmSync } = fs;
Object.assign(fs, {
  writeFileSync: counted(writeFileSync),
  fsyncSync: counted(fsyncSync),
  renameSync: counted(renameSync),
  linkSync: counted(linkSync),
  rmSync: counted(rmSync),
});
Object.assign(crypto, { createCipheriv: counted(crypto.createCipheriv) });
syncBuiltinESMExports();

const { changeKey, openSealedStore } = await import('../../src/store/sealed-store.ts');
if (what === 'change') changeKey({ data: folder });
else openSealedStore({ data: folder }).database.close();
