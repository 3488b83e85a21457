import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { freeText, freeTextFile, freeTextRows } from './free-text.ts';

it('the list of places where people type freely is whole: npm run node tests/words/free-text.ts writes it', () => {
  expect(freeTextRows().length).toBeGreaterThan(20);
  expect(readFileSync(freeTextFile, 'utf8')).toBe(freeText());
});
