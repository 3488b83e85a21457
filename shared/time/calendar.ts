/** Calendar days in IANA zones, without a look at the clock. */

/** One a zone: making one takes longer than everything else about a date. */
const calendars = new Map<string, Intl.DateTimeFormat>();
function calendarOf(zone: string): Intl.DateTimeFormat {
  const known = calendars.get(zone);
  if (known) return known;
  const made = new Intl.DateTimeFormat('en', {
    timeZone: zone,
    calendar: 'gregory',
    numberingSystem: 'latn',
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
  });
  calendars.set(zone, made);
  return made;
}

/** The calendar date of an instant in an IANA time zone, YYYY-MM-DD. */
export function isoDateIn(zone: string, instant: Date): string {
  const parts = calendarOf(zone).formatToParts(instant);
  const part = (type: string) => parts.find((one) => one.type === type)?.value ?? '';
  return `${part('year').padStart(4, '0')}-${part('month')}-${part('day')}`;
}
