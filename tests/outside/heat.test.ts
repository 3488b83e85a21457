import { expect } from 'vitest';
import { cardsFor } from '../../shared/safety/cautions.ts';
import { testBot } from '../test-bot.ts';
import { outside } from './check.ts';
import { caution, lineOf, tin } from './said.ts';

const heat = '/caution heat';
const solder = '/caution soldering';
const solvent = '/caution solvent';
const glass = '/caution broken-glass';
const staticWhere = '/caution static';
const celsius = (fahrenheit: number) => ((fahrenheit - 32) * 5) / 9;

/** Every temperature that a caution tells people to work at, in °C. */
const workingAt = (): number[] =>
  [/^Begin at \d+ to (\d+) °C/, /^Stay under (\d+) °C/].map((pattern) =>
    Number(pattern.exec(lineOf('heat', pattern).text)?.[1]),
  );

for (const [id, surface, threshold] of [
  ['heat-01', 'metal', 51],
  ['heat-02', 'glass', 56],
  ['heat-03', 'plastic', 60],
] as const) {
  outside(
    {
      id,
      what: `Burn threshold of ${surface}, one minute of touch`,
      value: `${threshold} °C`,
      source: 'iso-13732-1',
      at: 'table 1',
      known: 'memory',
      where: heat,
    },
    () => {
      const line = lineOf('heat', /^Wear heat gloves/);
      expect(line.text).toContain(`${surface} ${threshold}`);
      // From memory, so it says so and is the ground of no limit.
      expect(line).toMatchObject({ ground: 'memory', text: expect.stringContaining('From memory') });
      // What the caution lets a plate run at is above the threshold of bare metal: gloves come with it.
      if (surface === 'metal') expect(Math.min(...workingAt())).toBeGreaterThan(threshold);
    },
  );
}

outside(
  {
    id: 'heat-04',
    what: 'Burn threshold of any surface, ten minutes of touch',
    value: '48 °C',
    source: 'iso-13732-1',
    at: 'table 1',
    known: 'memory',
    where: heat,
  },
  () => {
    expect(lineOf('heat', /^Wear heat gloves/).text).toContain('48 for ten minutes');
  },
);

for (const [id, what, value, pattern] of [
  [
    'heat-05',
    'Thresholds, not temperatures that are allowed',
    'thresholds',
    /burn thresholds, not as something that is allowed/,
  ],
  ['heat-06', 'Shortest touch that the thresholds are for', '0.5 s', /from half a second of touch/],
  ['heat-07', 'Not for a large part of the skin', 'about 10 % of it', /not for a large part of the skin/],
] as const) {
  outside({ id, what, value, source: 'iso-13732-1', at: 'scope', known: 'read', where: heat }, () => {
    expect(lineOf('heat', /^Read such figures/)).toMatchObject({
      source: 'iso-13732-1',
      text: expect.stringMatching(pattern),
    });
  });
}

for (const [id, what, value] of [
  ['heat-08', 'Time that a touch is reckoned to last: industry', '5 s'],
  ['heat-09', 'Time that a touch is reckoned to last: the public', '60 s'],
] as const) {
  outside({ id, what, value, source: 'astm-c1055', at: '1.3 to 1.6', where: heat }, () => {
    expect(lineOf('heat', /^Count on slow hands/)).toMatchObject({
      source: 'astm-c1055',
      text: expect.stringContaining(value),
    });
  });
}

outside(
  {
    id: 'heat-10',
    what: "A product's touch limit for plastic is not one for hands or cells",
    value: '77 °C, brief touch',
    source: 'iec-62368',
    at: 'table 38',
    where: heat,
  },
  () => {
    expect(lineOf('heat', /touch limit/)).toMatchObject({
      source: 'iec-62368',
      text: expect.stringMatching(/^Do not take .*77 °C for plastic touched briefly/),
    });
    expect(Math.max(...workingAt())).toBeLessThan(77);
  },
);

/** Onsets of runaway in kelvin, as printed, with their spreads. */
for (const [id, what, kelvin, spread] of [
  ['heat-11', 'Lowest onset of runaway in a study of pouch cells (heating plug)', 344, 5],
  ['heat-12', 'Highest onset of runaway in the same study (heating plate)', 487, 10],
] as const) {
  outside(
    {
      id,
      what,
      value: `${kelvin} ± ${spread} K, ${Math.round(kelvin - 273.15)} °C`,
      source: 'batteries-8-41',
      where: heat,
    },
    () => {
      const line = lineOf('heat', /^Stay under/);
      expect(line.source).toBe('batteries-8-41');
      expect(line.text).toContain(`${Math.round(kelvin - 273.15)} °C`);
      // The limit of the caution keeps below every onset, its spread taken off.
      expect(Number(/under (\d+) °C/.exec(line.text)?.[1])).toBeLessThan(kelvin - spread - 273.15);
    },
  );
}

outside(
  {
    id: 'heat-13',
    what: 'Onsets differ widely by method: a range is told and the lowest counts',
    value: '71 to 214 °C',
    source: 'batteries-8-41',
    where: heat,
  },
  () => {
    expect(lineOf('heat', /^Stay under/).text).toMatch(/differ widely by method.*the lowest counts here/);
  },
);

outside(
  {
    id: 'heat-14',
    what: 'The protective layer in a cell begins to break down, giving heat',
    value: 'from roughly 90 °C',
    source: 'sci-adv-eaas9820',
    where: heat,
  },
  () => {
    const line = lineOf('heat', /protective layer/);
    expect(line.source).toBe('sci-adv-eaas9820');
    expect(line.text).toContain('never treat 90 °C as safe');
    expect(Math.max(...workingAt())).toBeLessThan(90);
  },
);

outside(
  {
    id: 'heat-15',
    what: 'No line of any caution, remedy or family tells people to warm a phone above what the caution says',
    value: '60 °C at most beside a cell',
    source: ['batteries-8-41', 'sci-adv-eaas9820'],
    known: 'computed',
    where: 'knowledge/pack',
  },
  () => {
    const { knowledge } = tin().context();
    const steps = [...knowledge.remedies.values(), ...knowledge.families.values()]
      .flatMap((one) =>
        'open' in one ? [...one.open.steps, ...one.board.steps, one.close.note, one.cell.note] : one.steps,
      )
      .filter((text) => /°C/.test(text));
    const degrees = steps.flatMap((text) => [...text.matchAll(/(\d+) °C/g)].map((match) => Number(match[1])));
    for (const degree of degrees) expect(degree).toBeLessThanOrEqual(60);
    expect(Math.max(...workingAt())).toBe(60);
  },
);

for (const [id, what, value, pattern] of [
  [
    'heat-16',
    'Rosin fume',
    'a leading cause of asthma from work; prefer flux without',
    /rosin fume is a leading cause of asthma from work/,
  ],
  [
    'heat-17',
    'Temperature of the iron',
    'no hotter than needed',
    /Never run the iron hotter than the joint needs/,
  ],
  [
    'heat-18',
    'Extraction',
    'at the joint; a box without HEPA is of little use',
    /Extract the fume at the joint\. A bench box without a HEPA filter is of little use/,
  ],
  ['heat-19', 'Head', 'out of the plume', /Keep your head out of the plume/],
  ['heat-20', 'Health', 'regular checks', /regular health checks/],
] as const) {
  outside({ id, what, value, source: 'hse-solderers', where: solder }, () => {
    expect(lineOf('soldering', pattern).source).toBe('hse-solderers');
  });
}

for (const [id, what, limit, over] of [
  ['heat-21', 'Limit of rosin fume over 8 hours', 0.05, 'over 8 hours'],
  ['heat-22', 'Limit of rosin fume over 15 minutes', 0.15, 'over 15 minutes'],
] as const) {
  outside({ id, what, value: `${limit} mg/m3`, source: 'hse-eh40', where: solder }, () => {
    const line = lineOf('soldering', /British limit/);
    expect(line.source).toBe('hse-eh40');
    expect(line.text).toMatch(new RegExp(`${limit}( mg/m3)? ${over}`));
    expect(line.text).toContain('as reported');
  });
}

outside(
  {
    id: 'heat-23',
    what: 'Flash point of isopropyl alcohol: below a warm room, so it can burn at the bench',
    value: '53 °F, 11.7 °C',
    source: 'niosh-isopropanol',
    where: solvent,
  },
  () => {
    const line = lineOf('solvent', /flash point is/);
    expect(line.source).toBe('niosh-isopropanol');
    expect(line.text).toContain(`${celsius(53).toFixed(1)} °C`);
    expect(line.text).toContain('at room temperature');
    expect(celsius(53)).toBeLessThan(20);
  },
);

outside(
  {
    id: 'heat-24',
    what: 'Its vapour burns in air; the upper limit is given at 200 °F',
    value: '2.0 to 12.7 % (at 93 °C)',
    source: 'niosh-isopropanol',
    where: solvent,
  },
  () => {
    expect(lineOf('solvent', /flash point is/).text).toContain(
      `from 2.0 to 12.7 % in air (the upper figure at ${celsius(200).toFixed(0)} °C)`,
    );
  },
);

outside(
  {
    id: 'heat-25',
    what: 'Immediately dangerous: a tenth of the lower limit of burning',
    value: '2000 ppm',
    source: 'niosh-isopropanol',
    where: solvent,
  },
  () => {
    const line = lineOf('solvent', /immediately dangerous/);
    expect(line.text).toContain(`${0.1 * 0.02 * 1e6} ppm`);
    expect(line.source).toBe('niosh-isopropanol');
  },
);

for (const [id, what, ppm, mg] of [
  ['heat-26', 'Exposure limit over the day', 400, 980],
  ['heat-27', 'Exposure limit for a short time', 500, 1225],
] as const) {
  outside(
    { id, what, value: `${ppm} ppm (${mg} mg/m3)`, source: 'niosh-isopropanol', where: solvent },
    () => {
      const line = lineOf('solvent', /Exposure limits/);
      expect(line.source).toBe('niosh-isopropanol');
      expect(line.text).toContain(`${ppm} ppm`);
      // 1 ppm is 2.46 mg/m3: the two printed figures agree within 1 %.
      expect(Math.abs((ppm * 2.46) / mg - 1)).toBeLessThan(0.01);
    },
  );
}

outside(
  {
    id: 'heat-28',
    what: 'Lighting by heat alone: published figures differ, the lowest is used, a hot-air tool reaches it',
    value: '399 to 456 °C',
    source: 'icsc-0554',
    at: 'and the figure of the NFPA beside it',
    where: solvent,
  },
  () => {
    const line = lineOf('solvent', /lighting by heat alone/);
    expect(line.text).toContain('differ, 399 to 456 °C');
    expect(line.text).toContain('from memory');
    expect(line.text).toContain('take the lowest');
  },
);

outside(
  {
    id: 'heat-29',
    what: 'Hot air and solvent keep apart: said from both sides',
    value: 'in both cautions',
    source: 'practice',
    where: '/caution heat, solvent, soldering',
  },
  () => {
    expect(lineOf('heat', /No hot air near solvent/).ground).toBe('practice');
    expect(lineOf('solvent', /^Before iron or hot air: wait/).source).toBe('niosh-isopropanol');
    expect(lineOf('soldering', /solvent open on the bench/).ground).toBe('practice');
    // A step that does both draws both cautions before anything else.
    const ids = cardsFor(tin().context().knowledge, ['heats', 'dissolves'], 'AU').map(({ id }) => id);
    expect(ids).toEqual(expect.arrayContaining(['heat', 'solvent']));
  },
);

/** Marks of EN 166, the speed of the 6 mm ball in m/s. */
for (const [id, mark, speed, pattern] of [
  ['heat-30', 'F', 45, /F stands for a 6 mm ball at 45 m\/s/],
  ['heat-31', 'B', 120, /B for 120 m\/s, which spectacles do not reach/],
  ['heat-32', 'A', 190, /A for 190 m\/s, which takes a face shield/],
] as const) {
  outside(
    {
      id,
      what: `Eye protection marked ${mark}: ball of 6 mm and 0.86 g`,
      value: `${speed} m/s`,
      source: 'en-166',
      where: glass,
    },
    () => {
      const line = lineOf('broken-glass', /in EN 166/);
      expect(line.source).toBe('en-166');
      expect(line.text).toMatch(pattern);
    },
  );
}

for (const [id, what, value, pattern] of [
  [
    'heat-33',
    'Person through the strap to ground',
    'less than 35 megohm',
    /less than 35 megohm from the person through the strap to ground/,
  ],
  ['heat-34', 'That keeps the body under', '100 V', /keeps the body under 100 V/],
  ['heat-35', 'Work surface', '1 to 1000 megohm', /A mat measures 1 to 1000 megohm/],
] as const) {
  outside({ id, what, value, source: 'ansi-s20-20', at: 'table 2', where: staticWhere }, () => {
    expect(lineOf('static', /^Ground yourself/)).toMatchObject({
      source: 'ansi-s20-20',
      text: expect.stringMatching(pattern),
    });
  });
}

outside(
  {
    id: 'heat-36',
    what: 'Parts are reckoned sensitive from',
    value: '100 V',
    source: 'ansi-s20-20',
    at: 'scope',
    where: staticWhere,
  },
  () => {
    expect(lineOf('static', /reckoned sensitive from 100 V/).source).toBe('ansi-s20-20');
  },
);

outside(
  {
    id: 'heat-37',
    what: 'Every hazard has a caution that fires, and every caution puts local codes first',
    value: 'in every caution',
    source: 'practice',
    where: '/caution',
  },
  () => {
    const one = testBot();
    for (const id of one.context().knowledge.cautions.keys())
      expect(caution(id).all.map(({ text }) => text)).toContain(
        'Local codes and licensed practice come first.',
      );
  },
);

for (const [id, mark, speed] of [
  ['heat-38', 'C', 45],
  ['heat-39', 'D', 80],
  ['heat-40', 'E', 120],
] as const) {
  outside(
    {
      id,
      what: `Eye protection of today, impact level ${mark}`,
      value: `${speed} m/s`,
      source: 'en-iso-16321',
      where: glass,
    },
    () => {
      const line = lineOf('broken-glass', /EN ISO 16321-1/);
      expect(line.source).toBe('en-iso-16321');
      expect(line.text).toMatch(new RegExp(`\\b${mark} (stands )?for ${speed} m/s`));
      expect(lineOf('broken-glass', /in EN 166/).text).toContain('Older marks are still sold');
    },
  );
}

outside(
  {
    id: 'heat-41',
    what: 'Onset of runaway at 30 to 50 % charge, by a heating plate: the reason to run a cell low first',
    value: '393 ± 36 K, 120 °C',
    source: 'batteries-8-41',
    at: 'series 2',
    known: 'reported',
    where: heat,
  },
  () => {
    const line = lineOf('heat', /^Let the cell run low/);
    expect(line.source).toBe('batteries-8-41');
    expect(line.text).toContain(`near ${Math.round(393 - 273.15)} °C (give or take 36)`);
    expect(line.text).toContain('as reported');
  },
);

for (const [id, what, value, pattern] of [
  ['heat-42', 'UVA on a bare eye in a working day', '10 kJ/m2', /10 kJ\/m2 of UVA on a bare eye/],
  [
    'heat-43',
    'Weighted UV on eye and skin in a working day',
    '30 J/m2',
    /30 J\/m2 of weighted UV on eye and skin/,
  ],
] as const) {
  outside({ id, what, value, source: 'eu-2006-25', at: 'Annex I', where: '/caution uv-lamp' }, () => {
    const line = lineOf('uv-lamp', /^Limits for a working day/);
    expect(line.source).toBe('eu-2006-25');
    expect(line.text).toMatch(pattern);
    // 10 000 J/m2 at 50 W/m2.
    expect(line.text).toContain(`At 50 W/m2 the first is used up in ${10_000 / 50} s`);
  });
}

for (const [id, what, value, source, name, pattern] of [
  [
    'heat-44',
    'High-power lasers blind and burn skin; a casing keeps safe while it is whole',
    'closed cabinet',
    'hse-lasers',
    'laser',
    /able to blind and to burn skin.*only while its casing is whole and shut/,
  ],
  [
    'heat-45',
    'Look at cord, plug and case before each use',
    'user checks',
    'hse-hsg107',
    'mains-tools',
    /^Look at cord, plug and case before each use/,
  ],
  [
    'heat-46',
    'Deaths by breathing the gas of dusters, counted in ten years',
    'more than 1,000',
    'cpsc-dusters',
    'inverted-gas',
    /more than 1,000 deaths in ten years/,
  ],
  [
    'heat-47',
    'Canned gas upside down sprays liquid, which freezes skin and eyes',
    'upright, in short bursts',
    'duster-sds',
    'inverted-gas',
    /^Hold a can upright, in short bursts/,
  ],
] as const) {
  outside({ id, what, value, source, where: `/caution ${name}` }, () => {
    expect(lineOf(name, pattern).source).toBe(source);
  });
}
