/**
 * Measurements as text for a scraper. Format: Prometheus documentation, "Exposition formats", text format 0.0.4
 * (prometheus.io/docs/instrumenting/exposition_formats).
 */

export const EXPOSITION_TYPE = 'text/plain; version=0.0.4; charset=utf-8';

export interface Sample {
  /** `_bucket`, `_sum` or `_count` of a histogram; else nothing. */
  suffix?: string;
  labels?: Readonly<Record<string, string>>;
  value: number;
}

/** All samples of one name. */
export interface MetricFamily {
  name: string;
  kind: 'counter' | 'gauge' | 'histogram';
  help: string;
  samples: readonly Sample[];
}

const escapeHelp = (text: string): string => text.replaceAll('\\', '\\\\').replaceAll('\n', '\\n');
const escapeLabel = (text: string): string => escapeHelp(text).replaceAll('"', '\\"');

const numberText = (value: number): string => {
  if (Number.isNaN(value)) return 'NaN';
  if (Number.isFinite(value)) return String(value);
  return value > 0 ? '+Inf' : '-Inf';
};

function lineOf(name: string, { suffix = '', labels = {}, value }: Sample): string {
  const pairs = Object.entries(labels).map(([label, text]) => `${label}="${escapeLabel(text)}"`);
  return `${name}${suffix}${pairs.length ? `{${pairs.join(',')}}` : ''} ${numberText(value)}\n`;
}

/** Each family as one group, with what it is before its samples. */
export const exposition = (families: readonly MetricFamily[]): string =>
  families
    .map(
      ({ name, kind, help, samples }) =>
        `# HELP ${name} ${escapeHelp(help)}\n# TYPE ${name} ${kind}\n${samples.map((one) => lineOf(name, one)).join('')}`,
    )
    .join('');
