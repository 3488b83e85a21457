/** Facts that the trade goes by, as scenes at the invented collective Tin Shed. None has a source; each says so. */
import { expect } from 'vitest';
import { jobData } from '../../commands/job/job-data.ts';
import { pairedDataSchema } from '../../commands/paired/paired-data.ts';
import { type TraceData, traceData } from '../../commands/trace/trace-data.ts';
import { worthData } from '../../commands/worth/worth-data.ts';
import { knowledge, type TestBot, testBot, wordsOf } from '../test-bot.ts';
import { broughtBack } from './brought-back.ts';
import { outside } from './check.ts';
import { lesson } from './said.ts';

const practice = { source: 'practice' } as const;
const ORRIN = 'launched:2023-09 new-price:749';

function tinShed(family = 'glued-front-home-sensor', name = 'Orrin K3'): TestBot {
  const made = testBot();
  made.say(`/family name model:"${name}" as:${family} ${ORRIN}`, { role: 'steward' });
  return made;
}
/** A trace answered line by line; what it knows then, and the share of each component. */
function traced(
  made: TestBot,
  lines: readonly string[],
): { data: TraceData; share: (component: string) => number } {
  let data: TraceData | undefined;
  for (const line of lines) {
    const reply = made.say(line);
    if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
    data = traceData.parse(reply.data);
  }
  if (!data) throw new Error('nothing was said');
  const { odds } = data;
  const share = (component: string) =>
    odds
      .filter(({ fault }) => knowledge().faults.get(fault)?.component === component)
      .reduce((sum, { chance }) => sum + chance, 0);
  return { data, share };
}
const NO_CURRENT = [
  '/trace "dead, no charge" model:"Orrin K3"',
  '/trace answer "0.00 A" step:charge-current',
];
/** Likeliest answer of each step for a fault, until the trace ends. */
function walk(
  made: TestBot,
  fault: string,
  symptoms: string,
  given: Readonly<Record<string, string>> = {},
): string[] {
  let data = traced(made, [`/trace "${symptoms}" model:"Orrin K3"`]).data;
  const steps: string[] = [];
  const goesOn = () => data.state === 'asking' || data.state === 'remedy' || data.state === 'opening';
  for (let turn = 0; turn < 40 && goesOn(); turn += 1) {
    if (data.state === 'opening') {
      data = traced(made, ['/trace note open:open']).data;
      continue;
    }
    const id = data.step?.id ?? '';
    steps.push(id);
    const check = knowledge().checks.get(id);
    const row = check?.given.faults[fault] ?? check?.given.otherwise ?? [];
    const likeliest = check?.outcomes[row.indexOf(Math.max(...row))]?.id;
    const works = (knowledge().remedies.get(id)?.works[fault] ?? 0) >= 0.5 ? 'works' : 'failed';
    data = traced(made, [`/trace answer "${given[id] ?? likeliest ?? works}" step:${id}`]).data;
  }
  return steps;
}

outside(
  {
    id: 'trade-01',
    what: 'No current at all: port, cell or board, and little else',
    value: 'over 99 % on the three',
    ...practice,
    where: '/trace',
  },
  () => {
    const { share } = traced(tinShed(), NO_CURRENT);
    const three = ['battery', 'charging-port', 'mainboard'].map(share);
    for (const one of three) expect(one).toBeGreaterThan(0.15);
    expect(three.reduce((sum, one) => sum + one, 0)).toBeGreaterThan(0.99);
    expect(lesson('zero-amps', 'charging-port')).toMatchObject({
      ground: 'practice',
      says: expect.stringContaining('port, the cell or the board'),
    });
  },
);
outside(
  {
    id: 'trade-02',
    what: 'No current, and its own cell boots another phone: the cell is cleared, port or board is left',
    value: 'cell under 15 %, a second fault beside the port or the board counted',
    ...practice,
    where: '/trace',
  },
  () => {
    const { share } = traced(tinShed(), [...NO_CURRENT, '/trace answer boots step:cell-elsewhere']);
    expect(share('battery')).toBeLessThan(0.15);
    expect(share('charging-port') + share('mainboard')).toBeGreaterThan(0.9);
    // And the other way round: it boots nothing.
    expect(
      traced(tinShed(), [...NO_CURRENT, '/trace answer not step:cell-elsewhere']).share('battery'),
    ).toBeGreaterThan(0.7);
  },
);
outside(
  {
    id: 'trade-03',
    what: 'No current, but it boots on a test cell and then charges: its own cell',
    value: 'cell over 90 %',
    ...practice,
    where: '/trace',
  },
  () => {
    const { share, data } = traced(tinShed(), [
      ...NO_CURRENT,
      '/trace answer boots step:test-cell',
      '/trace answer "0.8 A" step:charge-with-test-cell',
    ]);
    expect(share('battery')).toBeGreaterThan(0.9);
    expect(data.evidence.map(({ reading }) => reading)).toEqual(['0.00 A', null, '0.8 A']);
    // A look that costs nothing may come before the money for the cell.
    expect(['asking', 'remedy']).toContain(data.state);
  },
);
outside(
  {
    id: 'trade-04',
    what: 'A test cell that boots a dead phone clears its board',
    value: 'board faults fall',
    ...practice,
    where: '/trace',
  },
  () => {
    const before = traced(tinShed(), ['/trace dead model:"Orrin K3"']).share('mainboard');
    const after = traced(tinShed(), [
      '/trace dead model:"Orrin K3"',
      '/trace answer boots step:test-cell',
    ]).share('mainboard');
    expect(after).toBeLessThan(before / 2);
    expect(lesson('test-cell-clears-board', 'battery').ground).toBe('practice');
  },
);
outside(
  {
    id: 'trade-05',
    what: 'On the way to a cell that is at fault no board work is proposed',
    value: 'ends with a battery',
    ...practice,
    where: '/trace',
  },
  () => {
    const steps = walk(tinShed(), 'battery-open', 'dead, no charge', {
      'charge-current': '0.00 A',
      'test-cell': 'boots',
      'charge-with-test-cell': 'normal',
    });
    const last = knowledge().remedies.get(steps.at(-1) ?? '');
    expect(last?.parts.map(({ component }) => component)).toEqual(['battery']);
    for (const step of steps)
      expect((knowledge().checks.get(step) ?? knowledge().remedies.get(step))?.access).not.toBe('board');
  },
);
outside(
  {
    id: 'trade-06',
    what: 'A home sensor is paired to its board: a strange one loses button and fingerprint',
    value: 'lost; travels with the board',
    ...practice,
    where: '/paired',
  },
  () => {
    const reply = tinShed().say('/paired "Orrin K3" component:fingerprint-sensor');
    const data = pairedDataSchema.parse(reply.data);
    expect(data).toMatchObject({ kind: 'component', effect: 'lost', travels: true });
    if (data.kind !== 'component') throw new Error('not a component');
    expect(data.statements[0]).toMatchObject({ likely: 0.93, ground: 'practice' });
    expect(wordsOf(reply)).toContain('a strange sensor gives neither');
    expect(wordsOf(tinShed().say('/paired "Orrin K3" component:mainboard'))).toContain(
      'Must go with it: fingerprint sensor.',
    );
  },
);
outside(
  {
    id: 'trade-07',
    what: 'A board without its home sensor is stripped for nothing of the sensor: the sensor is worth nothing elsewhere',
    value: 'strip is worth less than unpaired',
    ...practice,
    where: '/worth',
  },
  () => {
    const strip = (known: ReturnType<typeof knowledge>) => {
      const made = testBot({ knowledge: known });
      made.say(`/family name model:"Orrin K3" as:glued-front-home-sensor ${ORRIN}`, { role: 'steward' });
      const data = worthData.parse(made.say('/worth "Orrin K3" price:10 symptoms:dead value:200').data);
      return Number(data.ways.find(({ way }) => way === 'strip')?.mean.amount);
    };
    expect(strip(knowledge())).toBeLessThan(strip({ ...knowledge(), pairing: [] }));
  },
);
outside(
  {
    id: 'trade-08',
    what: 'An original panel with new glass over a copy, though it costs more',
    value: 'chosen at 55 against 40',
    ...practice,
    where: '/worth',
  },
  () => {
    const known = (refurbished: number, copy: number) => {
      const made = tinShed();
      for (const [grade, price] of [
        ['refurbished', refurbished],
        ['copy', copy],
      ])
        made.say(`/prices add what:"Orrin K3" component:"display assembly" grade:${grade} price:${price}`, {
          role: 'steward',
        });
      return wordsOf(made.say('/worth "Orrin K3" price:20 damage:"display assembly" value:220'));
    };
    expect(known(55, 40)).toContain('Original panel with new glass');
    // Not at any price: a copy that is far cheaper wins, and is told to the next owner.
    expect(known(120, 20)).toContain('New display, copy');
    expect(knowledge().remedies.get('copy-display')?.disclose.join(' ')).toContain('The display is a copy');
    expect(lesson('new-glass', 'display-assembly')).toMatchObject({
      ground: 'practice',
      says: expect.stringMatching(/keeps touch and colour better than a copy/),
    });
  },
);
outside(
  {
    id: 'trade-09',
    what: 'A dead cell is part-charged before it is judged, never one that is swollen, hot or damaged',
    value: 'offered closed, and barred when swollen',
    ...practice,
    where: '/trace',
  },
  () => {
    const check = knowledge().checks.get('long-charge');
    expect(check).toMatchObject({ access: 'closed', hazards: ['charges'], ground: 'practice' });
    expect(check?.why).toContain('before judging it');
    expect(lesson('part-charge-first', 'battery').says).toContain('before judging it');
    const made = tinShed();
    made.say('/trace "dead, swollen" model:"Orrin K3"');
    expect(made.say('/trace answer starts step:long-charge').outcome).toBe('refused');
    made.say('/trace isolated');
    const after = made.say('/trace answer starts step:long-charge');
    expect(after.outcome === 'refused' || traceData.parse(after.data).state !== 'asking').toBe(true);
  },
);
outside(
  {
    id: 'trade-10',
    what: 'A phone that starts after a long charge was flat, not dead',
    value: 'faults of port and board halve',
    ...practice,
    where: '/trace',
  },
  () => {
    const before = traced(tinShed(), ['/trace dead model:"Orrin K3"']);
    const after = traced(tinShed(), [
      '/trace dead model:"Orrin K3"',
      '/trace answer nothing step:long-charge',
    ]);
    const starts = traced(tinShed(), [
      '/trace dead model:"Orrin K3"',
      '/trace answer starts step:long-charge',
    ]);
    const short = (one: typeof before) =>
      one.data.odds.find(({ fault }) => fault === 'supply-short')?.chance ?? 0;
    expect(short(starts)).toBeLessThan(short(before) / 2);
    expect(short(after)).toBeGreaterThan(short(before));
  },
);
outside(
  {
    id: 'trade-11',
    what: 'Test everything, then seal: the seal is the last function asked for',
    value: 'last',
    ...practice,
    where: '/job test',
  },
  () => {
    const made = tinShed('glued-back-under-display', 'Vesper Loam');
    const opened = made.say('/job open "Vesper Loam" came:given ownership:shown lock:free stolen:clear');
    const { untested } = jobData.parse(opened.data);
    expect(untested.length).toBeGreaterThan(10);
    expect(untested.at(-1)).toBe('seal');
    expect(wordsOf(made.say('/job test'))).toContain('Still to test before the seal is pressed');
    expect(made.say('/job finish restored page:seen sold:200').outcome).toBe('refused');
    expect(lesson('gasket-once', 'gasket').says).toContain('test everything first, seal last');
  },
);
outside(
  {
    id: 'trade-12',
    what: 'After a flat cell the clock is wrong and the phone seems locked for years: let it meet a network',
    value: 'proposed before any part',
    ...practice,
    where: '/trace',
  },
  () => {
    const made = tinShed('removable-back-slab');
    const { data } = traced(made, ['/trace wrong-date model:"Orrin K3"']);
    expect(data.odds[0]?.fault).toBe('clock-lost');
    const steps = walk(tinShed('removable-back-slab'), 'clock-lost', 'wrong-date');
    const remedies = steps.filter((id) => knowledge().remedies.has(id));
    expect(remedies[0]).toBe('meet-network');
    expect(knowledge().remedies.get('meet-network')).toMatchObject({ parts: [], access: 'closed' });
    expect(lesson('flat-clock', 'battery', 'removable-back-slab').says).toContain('until it meets a network');
  },
);
outside(
  {
    id: 'trade-13',
    what: 'Fussy about chargers: an open defect, to be found or told',
    value: 'a symptom of its own',
    ...practice,
    where: '/trace',
  },
  () => {
    const { share } = traced(tinShed(), ['/trace fussy-charging model:"Orrin K3"']);
    expect(share('charging-port')).toBeGreaterThan(0.4);
    expect(lesson('fussy-charging', 'charging-port').says).toMatch(/find it, or disclose it/);
  },
);
outside(
  {
    id: 'trade-14',
    what: 'Given, dead; a copy of the battery for 14.00, 25 minutes; let go for 138.00 where like ones sell for about 140',
    value: 'outlay 14.00, left 124.00',
    ...practice,
    where: '/job, /prices, /worth',
  },
  () => {
    const made = tinShed();
    // Tin Shed's people count their time at 15 an hour, and have bought such batteries before.
    made.say('/setup rate:15', { role: 'steward' });
    made.say('/prices add what:"Orrin K3" component:battery grade:copy price:14');
    for (const [price, day] of [
      [150, '2026-02-20'],
      [140, '2026-02-10'],
      [135, '2026-01-30'],
    ])
      expect(
        made.say(`/prices add "Orrin K3" price:${price} how:sold condition:fair seen:${day}`).outcome,
      ).toBe('answered');
    const before = worthData.parse(made.say('/worth "Orrin K3" symptoms:"dead, no charge"').data);
    expect(before.verdict).toBe('restore');
    const { opened, job } = broughtBack(made, {
      model: 'Orrin K3',
      came: 'came:given symptoms:"dead, no charge"',
      log: ['fitted:battery grade:copy out:14', 'minutes:25'],
      sold: 138,
    });
    expect(jobData.parse(opened.data).promise.mean).toEqual(
      before.ways.find(({ way }) => way === 'restore')?.mean,
    );
    expect(job).toMatchObject({
      state: 'closed',
      out: { amount: '14.00', currency: 'AUD' },
      back: { amount: '138.00', currency: 'AUD' },
      net: { amount: '124.00', currency: 'AUD' },
      minutes: 25,
    });
    // Near its market price, and for about a tenth of it.
    const [low, high] = [Number(before.value.low.amount), Number(before.value.high.amount)];
    expect(low).toBeLessThan(138);
    expect(high).toBeGreaterThan(138);
    expect(14 / Number(before.value.median.amount)).toBeLessThan(0.15);
  },
);
outside(
  {
    id: 'trade-15',
    what: 'A cell near 500 cycles reports about 85 %: the two readings agree on what is worn',
    value: 'worn cell first',
    ...practice,
    where: '/trace',
  },
  () => {
    const { data } = traced(tinShed(), [
      '/trace drains-fast model:"Orrin K3"',
      '/trace answer "820" step:cycle-count',
      '/trace answer "72 %" step:battery-report',
    ]);
    expect(data.odds[0]?.fault).toBe('battery-worn');
    expect(data.odds[0]?.chance).toBeGreaterThan(0.6);
  },
);
