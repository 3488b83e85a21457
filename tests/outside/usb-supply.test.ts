import { expect } from 'vitest';
import { outside } from './check.ts';
import { lesson, outcomeOf, tin } from './said.ts';

const checks = 'knowledge/pack/checks.yaml, charge-current';
const lessons = 'knowledge/pack/lessons.yaml';
const port = (id: string) => lesson(id, 'charging-port');

/** Limits of current, and the band that a reading of just that much falls into. */
const limits: readonly (readonly [string, string, string, string, string, string])[] = [
  ['usb-01', 'USB 2.0, not configured: one unit load', '100 mA', 'trickle', 'usb-2-0', '7.2.1'],
  ['usb-02', 'USB 2.0, configured: five unit loads', '500 mA', 'normal', 'usb-2-0', '7.2.1'],
  ['usb-03', 'USB 3, not configured: one unit load', '150 mA', 'trickle', 'usb-3-2', 'section 11'],
  ['usb-04', 'USB 3, configured: six unit loads', '900 mA', 'normal', 'usb-3-2', 'section 11'],
  ['usb-05', 'Dedicated charging port', '1.5 A', 'normal', 'usb-bc-1-2', 'DCP'],
  [
    'usb-06',
    'Type-C source at its highest advertisement',
    '3 A',
    'normal',
    'usb-type-c',
    'CC advertisements',
  ],
  ['usb-07', 'Suspended device', '2.5 mA', 'none', 'usb-2-0', '7.2.3'],
];
for (const [id, what, value, band, source, at] of limits) {
  outside(
    { id, what: `${what}: a bench reading of it is "${band}"`, value, source, at, where: checks },
    () => {
      expect(outcomeOf('charge-current', value)).toBe(band);
    },
  );
}

outside(
  {
    id: 'usb-08',
    what: 'Unit loads: 5 of 100 mA, 6 of 150 mA',
    value: '500 mA and 900 mA',
    source: ['usb-2-0', 'usb-3-2'],
    at: '7.2.1; section 11',
    where: lessons,
  },
  () => {
    const [usb2, usb3] = [port('usb-default'), port('usb-3-default')];
    expect(usb2).toMatchObject({ source: 'usb-2-0' });
    expect(usb2.says).toContain(`${(5 * 100) / 1000} A once the device is configured, 0.1 A before`);
    expect(usb3).toMatchObject({ source: 'usb-3-2' });
    expect(usb3.says).toContain(`${(6 * 150) / 1000} A once the device is configured`);
    expect(usb3.says).toContain('0.15 A before');
  },
);

outside(
  {
    id: 'usb-09',
    what: 'A suspended phone shows no current on a meter: the bot says to wake it before judging',
    value: '2.5 mA reads 0.00 A',
    source: 'usb-2-0',
    at: '7.2.3',
    where: lessons,
  },
  () => {
    expect((2.5 / 1000).toFixed(2)).toBe('0.00');
    expect(port('usb-suspended')).toMatchObject({
      source: 'usb-2-0',
      says: expect.stringContaining('2.5 mA'),
    });
    expect(port('usb-suspended').says).toContain('wake the phone');
  },
);

for (const [id, what, value, source] of [
  ['usb-10', 'Voltage at a port', '4.75 to 5.25 V', 'usb-2-0'],
  ['usb-11', 'Voltage behind a USB 3 hub for low power', '4.45 V', 'usb-3-2'],
  ['usb-12', 'A USB 2.0 device must still work at', '4.4 V', 'usb-2-0'],
  ['usb-13', 'A USB 3 device must still work at', '4.0 V', 'usb-3-2'],
] as const) {
  outside({ id, what, value, source, at: 'VBUS', where: lessons }, () => {
    expect(port('usb-voltage').says).toContain(value);
    expect(port('usb-voltage').source).toBe('usb-2-0');
  });
}

outside(
  {
    id: 'usb-14',
    what: 'Voltage at a Type-C port may go up to',
    value: '5.5 V',
    source: 'usb-type-c',
    at: 'and the USB 2.0 change notice on VBUS',
    known: 'reported',
    where: lessons,
  },
  () => {
    expect(port('usb-voltage').says).toContain('Since Type-C the upper limit is 5.5 V');
    // So a reading above 5.25 V is called no fault of the supply.
    expect(port('usb-voltage').says).not.toMatch(/5\.25 V (?:is|means|points)/);
  },
);

outside(
  {
    id: 'usb-15',
    what: 'A dedicated charging port holds its voltage up to 1.5 A',
    value: '4.75 to 5.25 V',
    source: 'usb-bc-1-2',
    where: lessons,
  },
  () => {
    const { says, source } = lesson('usb-dcp', 'charging-port', 'removable-back-slab');
    expect(source).toBe('usb-bc-1-2');
    expect(says).toContain('1.5 A');
    expect(says).toContain('4.75 to 5.25 V');
  },
);

/** volts, amperes, watts */
const powers: readonly (readonly [string, string, number, number, string])[] = [
  ['usb-16', 'USB 2.0', 5, 0.5, 'USB 2.0 2.5 W'],
  ['usb-17', 'USB 3', 5, 0.9, 'USB 3 4.5 W'],
  ['usb-18', 'Battery charging 1.2', 5, 1.5, 'a dedicated charging port 7.5 W'],
  ['usb-19', 'Type-C at 3 A', 5, 3, 'Type-C 3 A 15 W'],
  ['usb-20', 'Power delivery before 2021, its highest', 20, 5, '20 V and 5 A, 100 W'],
];
for (const [id, what, volts, amperes, says] of powers) {
  const watts = volts * amperes;
  outside(
    {
      id,
      what: `Power of ${what}`,
      value: `${watts} W`,
      source: ['usb-type-c', 'st-um2191'],
      at: 'table of power sources',
      where: lessons,
    },
    () => {
      expect(port('usb-power').says).toContain(says);
      expect(says).toContain(`${watts} W`);
      expect(port('usb-power').source).toBe('usb-type-c');
    },
  );
}

outside(
  {
    id: 'usb-21',
    what: 'A Type-C source advertises one of three currents',
    value: 'default, 1.5 A or 3 A',
    source: 'iec-63002',
    at: 'clause 4.4',
    where: lessons,
  },
  () => {
    expect(port('usb-type-c-current').says).toContain('default current, 1.5 A or 3 A');
  },
);

/** Pull-up of the source in kilohms, its current source in microamperes, the advertisement, and the band of the CC voltage. */
const advertisements = [
  ['usb-22', 56, 80, 'default', 0.2, 0.66],
  ['usb-23', 22, 180, '1.5 A', 0.66, 1.23],
  ['usb-24', 10, 330, '3 A', 1.23, Number.POSITIVE_INFINITY],
] as const;
for (const [id, pullUp, microamperes, means, from, to] of advertisements) {
  outside(
    {
      id,
      what: `Type-C advertisement "${means}": pull-up, and the voltage on CC across 5.1 kΩ`,
      value: `${pullUp} kΩ; ${from} to ${Number.isFinite(to) ? to : '…'} V`,
      source: 'usb-type-c',
      at: 'tables of Rp and CC thresholds',
      where: lessons,
    },
    () => {
      const { says } = port('usb-type-c-cc');
      expect(says).toContain(`(${pullUp === 56 ? 'source pull-up 56' : pullUp} kΩ)`);
      expect(says).toContain(`${(Number.isFinite(to) ? to : from).toFixed(2)} V`);
      // The current of the same advertisement across the sink's 5.1 kΩ lies within the band (computed).
      const volts = microamperes * 1e-6 * 5100;
      expect(volts).toBeGreaterThan(from);
      expect(volts).toBeLessThan(to);
    },
  );
}

/** Watts of a charger and the voltages that the power rules add up to it. */
for (const [id, watts, volts] of [
  ['usb-25', 15, 9],
  ['usb-26', 27, 15],
  ['usb-27', 45, 20],
] as const) {
  outside(
    {
      id,
      what: `Power rules of power delivery: above ${watts} W a charger adds`,
      value: `${volts} V`,
      source: 'usb-pd',
      at: 'section 10',
      where: lessons,
    },
    () => {
      expect(port('usb-pd-steps').says).toContain(`${volts} V above ${watts} W`);
      expect(port('usb-pd-steps').source).toBe('usb-pd');
    },
  );
}

outside(
  {
    id: 'usb-28',
    what: 'Order of a negotiation',
    value: 'offer, request, accept, ready',
    source: 'iec-63002',
    at: 'clause 4.5',
    where: lessons,
  },
  () => {
    const { says, source } = port('usb-order');
    expect(source).toBe('iec-63002');
    const places = ['offers', 'requests', 'accepts', 'ready'].map((word) => says.indexOf(word));
    expect(places.every((place) => place >= 0)).toBe(true);
    expect(places).toEqual([...places].sort((a, b) => a - b));
  },
);

outside(
  {
    id: 'usb-29',
    what: 'Nothing at all, and the next to nothing of a meter',
    value: '0.00 A points to port, cell or board',
    source: 'practice',
    where: checks,
  },
  () => {
    for (const reading of ['0', '0.00 A', '0.01 A', '12 mA'])
      expect(outcomeOf('charge-current', reading)).toBe('none');
    for (const reading of ['-0.1 A', '25 A', '5 V']) expect(outcomeOf('charge-current', reading)).toBeNull();
    const check = tin().context().knowledge.checks.get('charge-current');
    expect(check?.why).toContain('port, cell or board');
  },
);

outside(
  {
    id: 'usb-30',
    what: 'Power delivery since its revision of 2021, its highest',
    value: '48 V and 5 A, 240 W',
    source: 'usb-pd',
    at: 'revision 3.1, extended power range',
    where: lessons,
  },
  () => {
    const { says, source } = port('usb-pd-240');
    expect(source).toBe('usb-pd');
    expect(says).toContain(`48 V and 5 A, ${48 * 5} W`);
  },
);
