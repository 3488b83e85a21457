/**
 * Chooses the Node that everything here runs on, whatever npm and whatever Node the machine has: the one that is installed
 * with the project where there is one for the machine, else the machine's own if it is new enough.
 *
 *     node src/launch.cjs FILE [ARGUMENT...]      a program of the project
 *     node src/launch.cjs NAME [ARGUMENT...]      a program of a package that the project depends on, such as vitest
 *
 * CommonJS in plain words, so that an old Node can still read it and say that it is too old.
 */
const fs = require('node:fs');
const path = require('node:path');

/** The first Node that runs TypeScript as it stands. The store's library needs 22. */
const OLDEST = '22.18.0';
const root = path.join(__dirname, '..');

/** Where the C library is that the installed Node of a Linux machine was linked with: Alpine, for one, has another. */
const LOADERS = { x64: '/lib64/ld-linux-x86-64.so.2', arm64: '/lib/ld-linux-aarch64.so.1' };

/** The Node that is installed as a package, or null where none fits this machine. */
function installedNode() {
  const { platform, arch } = process;
  if (platform === 'linux' && !fs.existsSync(LOADERS[arch] || '')) return null;
  const program = platform === 'win32' ? 'win-x64/bin/node.exe' : `${platform}-${arch}/bin/node`;
  try {
    return fs.realpathSync(require.resolve(`node-${program}`));
  } catch {
    return null;
  }
}

/** True when version `one` (22.18.0) is not older than `other`. */
function isSince(one, other) {
  const [a, b] = [one, other].map((version) => version.split('.').map(Number));
  const differs = a.findIndex((number, index) => number !== b[index]);
  return differs === -1 || a[differs] > b[differs];
}

/** What to run, or why nothing can be: `{ node }` or `{ problem }`. */
function chooseNode() {
  const installed = installedNode();
  if (installed !== null) return { node: installed };
  const { node } = process.versions;
  if (isSince(node, OLDEST)) return { node: process.execPath };
  return {
    problem: `Node ${node} is too old: ${OLDEST} or newer is needed. Install Node 24, or run npm ci on Linux or Windows (64 bit), which brings it.`,
  };
}

/** Reads the package.json of a folder; an empty one where it is not there. */
function packageOf(folder) {
  const file = path.join(folder, 'package.json');
  return fs.existsSync(file) ? JSON.parse(fs.readFileSync(file, 'utf8')) : {};
}

/** The file behind a name on the command line, or null. */
function fileOf(name) {
  const file = path.resolve(root, name);
  if (fs.existsSync(file) && fs.statSync(file).isFile()) return file;
  const { dependencies, devDependencies } = packageOf(root);
  for (const one of Object.keys({ ...dependencies, ...devDependencies })) {
    const folder = path.join(root, 'node_modules', one);
    const { bin } = packageOf(folder);
    if (bin?.[name]) return path.join(folder, bin[name]);
  }
  return null;
}

/** Ends with one line for whoever started this. */
function fail(line) {
  process.stderr.write(`thirdhand: ${line}\n`);
  process.exitCode = 1;
}

/** Runs a file on the right Node, in this process if that is the right one, and ends as the file does. */
function launch(file, given) {
  const { node, problem } = chooseNode();
  if (problem) return fail(problem);
  // What is started from there finds the same Node.
  process.env.PATH = [path.dirname(node), process.env.PATH].filter(Boolean).join(path.delimiter);
  if (node === fs.realpathSync(process.execPath)) {
    process.argv = [node, file, ...given];
    return require('node:module').runMain(file);
  }
  const line = [...process.execArgv, file, ...given];
  if (process.execve) return process.execve(node, [node, ...line], process.env);
  const child = require('node:child_process').spawn(node, line, { stdio: 'inherit' });
  // Ctrl-C reaches the child by itself; these are sent to one process alone.
  for (const signal of ['SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal));
  process.on('SIGINT', () => process.stdin.isTTY || child.kill('SIGINT'));
  child.on('error', (error) => fail(`${node} does not start: ${error.message}`));
  child.on('exit', (code, signal) => {
    if (signal === null) process.exit(code);
    process.removeAllListeners(signal);
    process.kill(process.pid, signal);
  });
}

module.exports = { launch, fail, root };

if (require.main === module) {
  const [name = '', ...given] = process.argv.slice(2);
  const file = fileOf(name);
  if (file === null) fail(`there is no ${name} here. npm ci installs what is needed.`);
  else launch(file, given);
}
