/** The documents that the checks hold the bot against: those of the knowledge pack, and those that only checks need. */
import { inspectPack, packFolder } from '../../knowledge/load.ts';

/**
 * How it is known. read: read in the document or a faithful copy; reported: in a page that reports it; memory: from memory;
 * computed: worked out from its rule; practice: common practice, no source.
 */
export type Checked = 'read' | 'reported' | 'memory' | 'computed' | 'practice';

export interface OutsideSource {
  id: string;
  publisher: string;
  title: string;
  date?: string | undefined;
  checked: Checked;
}

const own: readonly OutsideSource[] = [
  {
    id: 'practice',
    publisher: 'the trade',
    title: 'common practice, no source',
    checked: 'practice',
  },

  // Identity
  {
    id: 'iso-7812',
    publisher: 'ISO/IEC',
    title: 'ISO/IEC 7812-1, identification cards: the check digit by doubling every second digit',
    checked: 'memory',
  },
  {
    id: 'imei-example',
    publisher: 'encyclopaedias',
    title: 'the long-standing worked example of an IMEI check digit, 49015420323751',
    checked: 'reported',
  },
  {
    id: 'imei-from-imeisv',
    publisher: 'stackpointer.io',
    title: 'How to compute IMEI from IMEISV',
    checked: 'read',
  },

  // Open records
  {
    id: 'ords-schema',
    publisher: 'Open Repair Alliance',
    title:
      'open repair data of 2023-03, table schema of the aggregate (tableschema.json) in the Open Repair Data Standard v0.3',
    date: '2023-03',
    checked: 'read',
  },
  {
    id: 'ords-categories',
    publisher: 'Open Repair Alliance',
    title: 'Open Repair Data Standard v0.3, product categories',
    date: '2023-03',
    checked: 'read',
  },
  {
    id: 'ords-standard',
    publisher: 'Open Repair Alliance',
    title: 'Open Repair Data Standard v0.3, the standard',
    date: '2021-12-07',
    checked: 'read',
  },
  {
    id: 'iso-codes',
    publisher: 'Debian',
    title: 'iso-codes, ISO 3166-1',
    checked: 'read',
  },

  // Survival
  {
    id: 'bewick-2004',
    publisher: 'Critical Care 8:389',
    title: 'V. Bewick, L. Cheek, J. Ball: Statistics review 12: Survival analysis, table 2',
    date: '2004',
    checked: 'read',
  },
  {
    id: 'remission-6mp',
    publisher:
      'D. R. Cox and D. Oakes (1984), table 4.1; J. P. Klein and M. L. Moeschberger (2003), table 4.1B; survfit of R',
    title:
      'remission times under 6-MP (E. J. Freireich and others, Blood 21, 1963): the product-limit estimate',
    checked: 'reported',
  },

  // Law
  {
    id: 'uk-scrutiny-2024',
    publisher: 'European Scrutiny Committee, United Kingdom',
    title: 'EU mobile phone design plans: under the Windsor Framework the rules apply in Northern Ireland',
    date: '2024-01-30',
    checked: 'read',
  },

  // USB
  {
    id: 'st-um2191',
    publisher: 'STMicroelectronics',
    title: 'UM2191 user manual, table 4: power of USB supplies',
    checked: 'read',
  },

  // Cells
  {
    id: 'un-manual-38-3',
    publisher: 'United Nations',
    title: 'Manual of Tests and Criteria, 38.3.2.3: energy is nominal voltage times rated capacity',
    checked: 'reported',
  },
  {
    id: 'cfr-171-8',
    publisher: 'United States',
    title: '49 CFR 171.8, definition of watt-hour',
    checked: 'read',
  },

  // Tax
  { id: 'govuk-margin', publisher: 'GOV.UK', title: 'VAT margin schemes, overview', checked: 'read' },
  { id: 'hmrc-vatval11400', publisher: 'HMRC', title: 'VAT Valuation manual, VATVAL11400', checked: 'read' },
  { id: 'hmrc-718', publisher: 'HMRC', title: 'VAT Notice 718, margin schemes', checked: 'reported' },
  {
    id: 'eu-2006-112',
    publisher: 'European Union',
    title: 'Directive 2006/112/EC, articles 312 to 318',
    date: '2006-11-28',
    checked: 'read',
  },

  // Money
  { id: 'iso-4217', publisher: 'ISO / SIX', title: 'ISO 4217, List One', checked: 'reported' },
  {
    id: 'unicode-cldr',
    publisher: 'Unicode',
    title: 'Common Locale Data Repository, as carried by the runtime',
    checked: 'computed',
  },
  {
    id: 'dinero',
    publisher: 'dinero.js',
    title: 'an independent library for money: half-even rounding',
    checked: 'computed',
  },
  {
    id: 'cpython-69015',
    publisher: 'CPython',
    title: 'Issue 69015: decimals rounded half to even',
    checked: 'read',
  },
  {
    id: 'ieee-754',
    publisher: 'IEEE',
    title: 'IEEE 754-2019, 4.3.1: round to nearest, ties to even',
    checked: 'memory',
  },

  // Weeks and zones
  {
    id: 'iso-8601',
    publisher: 'ISO',
    title: 'ISO 8601: week 1 has the first Thursday; weeks begin on Monday',
    checked: 'reported',
  },
  {
    id: 'r-isoweek',
    publisher: 'CRAN',
    title: 'Manual of the R package ISOweek, date2ISOweek',
    checked: 'read',
  },
  { id: 'codesys-week', publisher: 'CODESYS', title: 'Util library, WeekOfYear', checked: 'read' },
  {
    id: 'postgres-week',
    publisher: 'PostgreSQL',
    title: 'Mailing list on ISO weeks at the end of years',
    checked: 'read',
  },
  { id: 'jiff-week', publisher: 'docs.rs', title: 'jiff, civil::ISOWeekDate', checked: 'read' },
  { id: 'iana-tz', publisher: 'IANA', title: 'Time zone database, 2025b', date: '2025', checked: 'computed' },
  {
    id: 'rfc-5545',
    publisher: 'IETF',
    title: 'RFC 5545 (iCalendar), 3.3.5: local times that are missing or doubled',
    checked: 'read',
  },

  // The pack beside what is brought
  {
    id: 'kullback-1959',
    publisher: 'John Wiley & Sons',
    title:
      'S. Kullback: Information Theory and Statistics, table 2.1 and example 2.1, as an encyclopaedia tells it',
    date: '1959',
    checked: 'reported',
  },
  {
    id: 'total-variation',
    publisher: 'textbooks of probability',
    title: 'total variation distance of discrete distributions, half the sum of the differences',
    checked: 'memory',
  },

  // Statistics
  {
    id: 'nist-strd',
    publisher: 'NIST',
    title: 'Statistical Reference Datasets (StRD), certified values',
    checked: 'read',
  },
  {
    id: 'nist-handbook',
    publisher: 'NIST/SEMATECH',
    title: 'e-Handbook of Statistical Methods, 1.3.6.7.2: table of t',
    checked: 'read',
  },
  {
    id: 'soong-a4',
    publisher: 'Wiley',
    title: 'Soong, Fundamentals of Probability and Statistics for Engineers, table A.4',
    checked: 'read',
  },
  {
    id: 'abramowitz-stegun',
    publisher: 'NBS',
    title: 'Abramowitz & Stegun, Handbook of Mathematical Functions',
    checked: 'memory',
  },
  {
    id: 'bayes-rules',
    publisher: 'CRC Press',
    title: 'Johnson, Ott & Dogucu, Bayes Rules!, chapter 5',
    checked: 'read',
  },
  {
    id: 'sas-mad',
    publisher: 'SAS',
    title: 'SAS/IML MAD function (data: Barnett & Lewis; method: Rousseeuw & Croux 1993)',
    checked: 'read',
  },
  { id: 'r-mad', publisher: 'R Core Team', title: 'R documentation, mad', checked: 'read' },
  {
    id: 'lange-1989',
    publisher: 'J. Am. Stat. Assoc. 84',
    title: 'Lange, Little & Taylor, robust statistical modelling using the t distribution',
    date: '1989',
    checked: 'memory',
  },
  {
    id: 'regression-example',
    publisher: 'encyclopaedias',
    title: 'the usual worked example of simple linear regression, height and mass',
    checked: 'memory',
  },
  {
    id: 'mad-example',
    publisher: 'encyclopaedias',
    title: 'the usual worked example of the median absolute deviation',
    checked: 'memory',
  },
  {
    id: 'simple-statistics',
    publisher: 'simple-statistics',
    title: 'an independent library',
    checked: 'computed',
  },
  { id: 'jstat', publisher: 'jstat', title: 'an independent library', checked: 'computed' },
  { id: 'stdlib', publisher: 'stdlib-js', title: 'an independent library', checked: 'computed' },
  {
    id: 'nakavachara-2017',
    publisher: 'Nakavachara & Saengchote',
    title: 'second-hand phone listings and depreciation',
    date: '2017',
    checked: 'reported',
  },
  {
    id: 'nber-10746',
    publisher: 'NBER',
    title: 'Working paper 10746, prices of handheld computers',
    checked: 'reported',
  },
  {
    id: 'conjugate',
    publisher: 'textbooks',
    title: 'standard conjugate results: Dirichlet, Beta, normal-inverse-gamma',
    checked: 'computed',
  },

  {
    id: 'icsc-0554',
    publisher: 'ILO and WHO',
    title: 'International Chemical Safety Card 0554, 2-propanol',
    checked: 'memory',
  },

  // Tracing and worth
  {
    id: 'heckerman-1995',
    publisher: 'CACM 38(3)',
    title: 'Heckerman, Breese & Rommelse, decision-theoretic troubleshooting',
    date: '1995',
    checked: 'read',
  },
  {
    id: 'sacso-2001',
    publisher: 'AI EDAM 15',
    title: 'Jensen et al., the SACSO methodology for troubleshooting complex systems',
    date: '2001',
    checked: 'read',
  },
  {
    id: 'bayesjs',
    publisher: 'bayesjs',
    title: 'an independent library for inference in belief networks',
    checked: 'computed',
  },
  {
    id: 'jensen-nielsen',
    publisher: 'Springer',
    title: 'Jensen & Nielsen, Bayesian Networks and Decision Graphs, exercise on troubleshooting',
    checked: 'computed',
  },
  {
    id: 'lin-2014',
    publisher: 'Lin',
    title: 'Lin 2014, decision-theoretic troubleshooting with questions, figure 2',
    date: '2014',
    checked: 'read',
  },
  {
    id: 'monte-carlo',
    publisher: 'textbooks',
    title: 'sampling of what happens, by uniform, normal and chi-squared draws',
    checked: 'computed',
  },
  {
    id: 'rockafellar-uryasev-2000',
    publisher: 'Journal of Risk 2, 21',
    title: 'Rockafellar & Uryasev, optimization of conditional value-at-risk',
    checked: 'memory',
  },
  {
    id: 'acerbi-tasche-2002',
    publisher: 'Journal of Banking & Finance 26, 1487',
    title: 'Acerbi & Tasche, on the coherence of expected shortfall: the tail takes its share of an atom',
    checked: 'memory',
  },
  {
    id: 'howard-1966',
    publisher: 'IEEE',
    title: 'Howard, information value theory',
    date: '1966',
    checked: 'memory',
  },
  {
    id: 'loss-models',
    publisher: 'Wiley',
    title: 'Klugman, Panjer & Willmot, Loss Models, appendix A: limited expected value of the lognormal',
    checked: 'memory',
  },

  // Environment
  {
    id: 'phone-masses',
    publisher: 'makers',
    title: 'data sheets of smartphones: what they weigh',
    checked: 'memory',
  },
];

const byId = new Map<string, OutsideSource>([
  ...[...inspectPack([packFolder]).knowledge.sources.values()].map((one) => [one.id, one] as const),
  ...own.map((one) => [one.id, one] as const),
]);

/** The source of an id. RangeError for one that nobody has put down. */
export function sourceOf(id: string): OutsideSource {
  const found = byId.get(id);
  if (!found) throw new RangeError(`no source "${id}": put it into tests/outside/sources.ts`);
  return found;
}

/** The sources that only checks need, by id. */
export const ownSources = (): readonly string[] => own.map(({ id }) => id);
