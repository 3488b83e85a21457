import { describe, expect, it } from 'vitest';
import { palette } from '../../src/draw/palette.ts';

type Rgb = readonly [number, number, number];

/** sRGB to linear light: WCAG 2.2, "relative luminance" (IEC 61966-2-1 with its published threshold). */
function linear(hex: string): Rgb {
  const one = (at: number) => {
    const value = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  return [one(1), one(3), one(5)];
}
const luminance = ([r, g, b]: Rgb): number => 0.2126 * r + 0.7152 * g + 0.0722 * b;

/** WCAG 2.2, "contrast ratio": from 1 to 21. */
function contrast(a: string, b: string): number {
  const [high = 0, low = 0] = [luminance(linear(a)), luminance(linear(b))].sort((x, y) => y - x);
  return (high + 0.05) / (low + 0.05);
}

/** Full loss of one kind of cone, in linear light: Machado, Oliveira and Fernandes, IEEE TVCG 15(6), 2009; from memory. */
const blindness = {
  protanopia: [0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998],
  deuteranopia: [0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881],
  tritanopia: [1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.3039],
} as const;
const seenBy = (matrix: readonly number[], [r, g, b]: Rgb): Rgb => {
  const row = (at: number) =>
    Math.min(1, Math.max(0, (matrix[at] ?? 0) * r + (matrix[at + 1] ?? 0) * g + (matrix[at + 2] ?? 0) * b));
  return [row(0), row(3), row(6)];
};

/** CIE 1976 L*a*b* under D65, from linear sRGB (IEC 61966-2-1). */
function lab([r, g, b]: Rgb): Rgb {
  const f = (t: number) => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
  const x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
  const z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}
/** CIE 1976 difference; about 2.3 is the smallest that is noticed (Mahy et al. 1994, from memory). */
const difference = (a: Rgb, b: Rgb): number => {
  const [p, q] = [lab(a), lab(b)];
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
};

describe('the check itself', () => {
  it('knows the ends of the scale and a published pair', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
    expect(contrast('#123456', '#123456')).toBe(1);
    // WebAIM's often quoted limit: #767676 on white is the lightest grey that has 4.5 to 1 (from memory).
    expect(contrast('#767676', '#ffffff')).toBeGreaterThanOrEqual(4.5);
    expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5);
  });
  it('keeps white white, and brings red and green together where they are', () => {
    for (const matrix of Object.values(blindness)) {
      for (const part of seenBy(matrix, [1, 1, 1])) expect(part).toBeCloseTo(1, 4);
    }
    const [red, green] = [linear('#b05030'), linear('#6a7a20')];
    expect(difference(red, green)).toBeGreaterThan(40);
    expect(
      difference(seenBy(blindness.deuteranopia, red), seenBy(blindness.deuteranopia, green)),
    ).toBeLessThan(20);
  });
});

describe('the colours of pictures', () => {
  it.each(['ink', 'muted', 'spent', 'back'] as const)(
    '%s is read on the card as text (WCAG 2.2, 1.4.3: 4.5 to 1)',
    (name) => {
      expect(contrast(palette[name], palette.card)).toBeGreaterThanOrEqual(4.5);
    },
  );
  it.each(['line', 'spent', 'back', 'border'] as const)(
    '%s is seen on the card (WCAG 2.2, 1.4.11: 3 to 1)',
    (name) => {
      expect(contrast(palette[name], palette.card)).toBeGreaterThanOrEqual(3);
    },
  );
  it('the card stands out in the dark; in the light its border does', () => {
    // A dark and a white room of a chat.
    expect(contrast(palette.card, '#1e1f22')).toBeGreaterThan(7);
    expect(contrast(palette.border, '#ffffff')).toBeGreaterThanOrEqual(3);
  });
  it.each(['protanopia', 'deuteranopia', 'tritanopia'] as const)(
    'spent and came back stay apart with %s',
    (kind) => {
      const [spent, back, card] = [palette.spent, palette.back, palette.card].map((one) =>
        seenBy(blindness[kind], linear(one)),
      );
      if (!spent || !back || !card) throw new Error('no colours');
      expect(difference(spent, back)).toBeGreaterThan(20);
      expect(difference(spent, card)).toBeGreaterThan(20);
      expect(difference(back, card)).toBeGreaterThan(20);
    },
  );
});
