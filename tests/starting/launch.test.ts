/** The real launcher as a child, in a folder of its own: which Node it takes, and what it says where there is none. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  chmodSync,
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  realpathSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
let folder = '';
beforeEach(() => {
  folder = realpathSync(mkdtempSync(join(tmpdir(), 'thirdhand-')));
  mkdirSync(join(folder, 'src'));
  for (const name of ['launch.cjs', 'thirdhand.cjs'])
    copyFileSync(join(root, 'src', name), join(folder, 'src', name));
});
afterEach(() => rmSync(folder, { recursive: true }));

function write(name: string, text: string, mode = 0o644): string {
  const file = join(folder, name);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, text);
  chmodSync(file, mode);
  return file;
}

/** What the machine is made to look like: code that runs before the launcher. */
const nodeOf = (version: string) =>
  `Object.defineProperty(process, 'versions', { value: { ...process.versions, node: '${version}' } });`;
const withoutReplacing = 'process.execve = undefined;';
const otherMachine = `Object.defineProperty(process, 'arch', { value: 'riscv64' });`;

/** A Node that comes with the project: it says that it ran, with what, and hands over to the real one. */
const installNode = () =>
  write(
    `node_modules/node-${process.platform}-${process.arch}/bin/node`,
    `#!/bin/sh\necho "installed: $*"\necho "first on the path: \${PATH%%:*}"\nexec "${process.execPath}" "$@"\n`,
    0o755,
  );

function start(machine: string, ...args: string[]) {
  const child = spawn(process.execPath, ['--import', `data:text/javascript,${machine}`, ...args], {
    cwd: folder,
    env: { PATH: process.env.PATH },
  });
  let [out, err] = ['', ''];
  child.stdout.on('data', (chunk: Buffer) => {
    out += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    err += chunk.toString();
  });
  const ended = once(child, 'close').then(([code, signal]: unknown[]) => ({ code, signal, out, err }));
  return { child, ended };
}

const PROGRAM = 'console.log("ran with", process.argv.slice(2).join(" ")); process.exitCode = 3;';

describe('the launcher', () => {
  it.each([
    ['an old', nodeOf('20.20.2') + withoutReplacing],
    ['the same', nodeOf('24.22.3')],
  ])('takes the Node that came with the project on %s Node, with what it was given', async (_, machine) => {
    write('program.mjs', PROGRAM);
    const installed = installNode();
    const { code, out, err } = await start(machine, 'src/launch.cjs', 'program.mjs', 'one', '--two').ended;
    expect({ code, err }).toEqual({ code: 3, err: '' });
    const [first, path, last] = out.trim().split('\n');
    expect(first).toMatch(/^installed: --import data:\S.* .*\/program\.mjs one --two$/);
    expect(path).toBe(`first on the path: ${dirname(installed)}`);
    expect(last).toBe('ran with one --two');
  });

  it('takes the Node of the machine where none came with the project, and none for another machine', async () => {
    write('program.mjs', PROGRAM);
    const { code, out } = await start(nodeOf('22.18.0'), 'src/launch.cjs', 'program.mjs', 'one').ended;
    expect({ code, out }).toEqual({ code: 3, out: 'ran with one\n' });
    installNode();
    const other = await start(nodeOf('23.0.0') + otherMachine, 'src/launch.cjs', 'program.mjs', 'one').ended;
    expect(other).toMatchObject({ code: 3, out: 'ran with one\n' });
  });

  it.each(['18.20.8', '20.20.2', '22.17.1'])('says in one line that Node %s is too old', async (version) => {
    write('dist/main.js', PROGRAM);
    for (const args of [['src/launch.cjs', 'dist/main.js'], ['src/thirdhand.cjs']]) {
      const { code, out, err } = await start(nodeOf(version), ...args).ended;
      expect({ code, out }).toEqual({ code: 1, out: '' });
      expect(err).toMatch(
        /^thirdhand: Node \d+\.\d+\.\d+ is too old: 22\.18\.0 or newer is needed\. [^\n]*\n$/,
      );
      expect(err).toContain(`Node ${version} `);
    }
  });

  it('hands on a signal, and ends as the program ends', async () => {
    write(
      'program.mjs',
      'process.on("SIGTERM", () => { console.log("told"); process.kill(process.pid, "SIGKILL"); }); setInterval(() => {}, 1000); console.log("ready");',
    );
    installNode();
    const { child, ended } = start(nodeOf('20.20.2') + withoutReplacing, 'src/launch.cjs', 'program.mjs');
    let said = '';
    for await (const chunk of child.stdout) {
      said += String(chunk);
      if (said.includes('ready')) break;
    }
    child.kill('SIGTERM');
    expect(await ended).toMatchObject({ code: null, signal: 'SIGKILL' });
  });

  it('runs the program of a package by its name, and says what is not there', async () => {
    write('package.json', JSON.stringify({ devDependencies: { tool: '1' } }));
    write('node_modules/tool/package.json', JSON.stringify({ bin: { wrench: './run.mjs' } }));
    write('node_modules/tool/run.mjs', PROGRAM);
    const { code, out } = await start('', 'src/launch.cjs', 'wrench', 'tight').ended;
    expect({ code, out }).toEqual({ code: 3, out: 'ran with tight\n' });
    const none = await start('', 'src/launch.cjs', 'hammer').ended;
    expect(none).toMatchObject({
      code: 1,
      out: '',
      err: 'thirdhand: there is no hammer here. npm ci installs what is needed.\n',
    });
  });
});

describe('npm start', () => {
  it('runs what was built', async () => {
    write('dist/main.js', PROGRAM);
    write('src/main.ts', 'console.log("from the sources");');
    mkdirSync(join(folder, 'node_modules'));
    expect(await start('', 'src/thirdhand.cjs', '--tour').ended).toMatchObject({
      code: 3,
      out: 'ran with --tour\n',
      err: '',
    });
  });
  it('runs the sources where nothing was built, and says so', async () => {
    write('package.json', '{"type":"module"}');
    write('src/main.ts', 'const given: string[] = process.argv.slice(2); console.log("sources", given[0]);');
    mkdirSync(join(folder, 'node_modules'));
    const { code, out, err } = await start('', 'src/thirdhand.cjs', '--tour').ended;
    expect({ code, out }).toEqual({ code: 0, out: 'sources --tour\n' });
    expect(err).toMatch(/^thirdhand: not built, so it starts from its sources, [^\n]*\n$/);
  });
  it('says that it is not installed before npm ci', async () => {
    write('src/main.ts', '');
    const { code, out, err } = await start('', 'src/thirdhand.cjs').ended;
    expect({ code, out, err }).toEqual({
      code: 1,
      out: '',
      err: 'thirdhand: not installed: run npm ci in its folder first.\n',
    });
  });
});
