/** A small pack that is right, to be broken one place at a time. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';

export const smallPack: Readonly<Record<string, string>> = {
  sources: `- {id: a-standard, title: A standard, publisher: A body, checked: read}
`,
  features: `- {id: glued-front, says: The phone opens by lifting a glued display.}
- {id: loose-cell, says: The battery lifts out by hand.}
`,
  components: `- {id: battery, name: battery, annexName: true, plain: [cell], handling: [Lift it.], partShare: [0.03, 0.05, 0.09], salvage: 0.2, test: It charges., ground: practice}
- {id: mainboard, name: mainboard, annexName: false, plain: [logic board], handling: [Ground yourself.], partShare: [0.2, 0.3, 0.5], salvage: 0.4, test: It starts., ground: practice}
- {id: display-assembly, name: display assembly, annexName: true, plain: [screen], handling: [Fold it slowly.], partShare: [0.1, 0.2, 0.3], salvage: 0.5, test: It shows white., ground: practice}
`,
  families: `- id: glued
  name: Glued phone
  about: It is glued.
  era: {from: 2014, to: null}
  features: [glued-front]
  open: {minutes: 10, hazards: [heats], steps: [Warm and lift.], breaks: null, tools: [pick]}
  board: {minutes: 5, hazards: [], steps: [Lift the board.]}
  close: {minutes: 5, hazards: [], note: Close it by hand.}
  cell: {held: glue, note: It is glued.}
  components:
    battery: {steps: 4, fasteners: removable, tools: basic}
    mainboard: null
    display-assembly: null
  ground: practice
`,
  pairing: `- {id: display-notice, component: display-assembly, when: [glued-front], effect: notice, loses: A notice., travels: false, mends: Nothing to mend., likely: 0.6, strength: 8, ground: {source: a-standard, at: clause 3}}
`,
  symptoms: `- id: dead
  name: Shows nothing
  alias: [black]
  seen:
    otherwise: 0.1
    faults:
      dead-cell: 0.9
      dead-board: 0.8
  ground: practice
`,
  faults: `- {id: dead-cell, name: Dead cell, component: battery, weight: 5, why: It is old., ground: practice}
- {id: dead-board, name: Dead board, component: mainboard, weight: 1, why: It was wet., ground: practice}
`,
  checks: `- id: current
  name: Current at the port
  ask: Read the meter.
  minutes: 2
  access: closed
  needs: [meter]
  hazards: []
  unit: A
  outcomes:
    - {id: none, says: Nothing., band: {from: 0, to: 0.02}}
    - {id: some, says: Some., band: {from: 0.02, to: 3}}
  given:
    otherwise: [0.5, 0.5]
    faults:
      dead-cell: [0.7, 0.3]
      dead-board: [0.4, 0.6]
  ground: practice
`,
  remedies: `- id: fit-cell
  name: Fit a cell
  works:
    dead-cell: 0.95
  parts: [{component: battery, grade: copy}]
  consumables: 0.01
  minutes: 10
  access: open
  hazards: [heats]
  steps: [Fit it.]
  keeps: 0.95
  disclose: [Battery is a copy.]
  ground: practice
- id: fit-board
  name: Fit a board
  works:
    dead-board: 0.8
  parts: [{component: mainboard, grade: used}]
  consumables: 0
  minutes: 30
  access: board
  hazards: []
  steps: [Fit it.]
  keeps: 0.9
  disclose: [Board is used.]
  ground: practice
`,
  rates: `- {id: faults-per-phone, value: 0.2, says: Mean number of faults., ground: practice}
`,
  factors: `- {id: weight, of: mass, per: phone, low: 0.1, high: 0.3, says: What it weighs., ground: practice}
`,
  functions: `- id: fit
  name: Fit
  how: It fits.
  powers: true
  components: [battery]
  ground: practice
`,
  cautions: `- id: heat
  name: Heat plate
  alias: [hot plate]
  tone: caution
  lead: Warm low and slow.
  short: Warm; stop at a smell.
  firesOn: [heats]
  do: [{says: Local codes and licensed practice come first., ground: practice}]
  dont: [{says: Do not heat the cell., ground: practice}]
  stopWhen: [{says: It smells., ground: practice}]
  getHelp: [{says: 'Call {fire}.', ground: practice}]
  dispose: [{says: '{dispose}', ground: practice}]
`,
  laws: `- {id: a-law, region: [EU], title: A law, topic: pairing, from: 2025-06-20, until: null, says: [It says.], limits: [], ground: practice}
`,
  lessons: `- {id: a-lesson, about: [battery], says: It ages., ground: practice}
`,
  regions: `emergency:
  EU: {fire: {number: '112', ground: practice}}
eu: [DE]
dispose:
  other: Never in the bin.
`,
};

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});
/** A new folder, gone when the tests of the file have ended. */
export function temporary(prefix: string): string {
  const folder = mkdtempSync(join(tmpdir(), prefix));
  folders.push(folder);
  return folder;
}

/** Writes files into a new folder and gives its path. */
export function packIn(files: Readonly<Record<string, string>>): string {
  const folder = temporary('pack-');
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, `${name}.yaml`), text);
  return folder;
}

/** The small pack with one passage of one file replaced; throws when the passage is not there. */
export function brokenPack(file: string, passage: string, by: string): string {
  const text = smallPack[file];
  if (!text?.includes(passage)) throw new Error(`${file} has no ${passage}`);
  return packIn({ ...smallPack, [file]: text.replace(passage, () => by) });
}
