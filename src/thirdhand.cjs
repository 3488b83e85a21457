#!/usr/bin/env node
/** What `npm start` and `thirdhand` run: the program as it was built, or from its sources where it was not. */
const fs = require('node:fs');
const path = require('node:path');
const { launch, fail, root } = require('./launch.cjs');

const [built, source] = [path.join(root, 'dist', 'main.js'), path.join(root, 'src', 'main.ts')];
const given = process.argv.slice(2);
if (fs.existsSync(built)) launch(built, given);
else if (!fs.existsSync(path.join(root, 'node_modules')) || !fs.existsSync(source))
  fail('not installed: run npm ci in its folder first.');
else {
  process.stderr.write(
    'thirdhand: not built, so it starts from its sources, which is slower. npm ci builds it.\n',
  );
  launch(source, given);
}
