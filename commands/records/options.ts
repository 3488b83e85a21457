/** The options that the actions of `/records` share. */
import { monthOf, type Period } from '../../shared/jobs/period.ts';
import { say } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import { optional, textOption } from '../framework/option.ts';
import { periodOption } from '../shared/period-option.ts';

/** Of the year that it is now, where none is said. */
export const thisYear = ({ collective, now }: Context): Period => ({
  ...monthOf(now, collective.settings.zone),
  month: null,
});

export const spanOption = optional(
  periodOption({ summary: say`A month or a year; without it, this year`, example: '2026' }),
);

export const providerOption = optional(
  textOption({
    summary: say`The name of the organisation that gives the records; without it, it stays empty`,
    example: 'Elm Street Repair',
    max: 120,
  }),
);
