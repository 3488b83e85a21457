import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exposition } from '../../src/observe/exposition.ts';
import { readExposition } from '../oracles/exposition-reader.ts';

/** The example of the format's own description (see the reader), without its timestamps' comments and its quoted names. */
const PUBLISHED = `# HELP http_requests_total The total number of HTTP requests.
# TYPE http_requests_total counter
http_requests_total{method="post",code="200"} 1027 1395066363000
http_requests_total{method="post",code="400"}    3 1395066363000

# Escaping in label values:
msdos_file_access_time_seconds{path="C:\\\\DIR\\\\FILE.TXT",error="Cannot find file:\\n\\"FILE.TXT\\""} 1.458255915e9

# Minimalistic line:
metric_without_timestamp_and_labels 12.47

# A weird metric from before the epoch:
something_weird{problem="division by zero"} +Inf -3982045

# HELP http_request_duration_seconds A histogram of the request duration.
# TYPE http_request_duration_seconds histogram
http_request_duration_seconds_bucket{le="0.05"} 24054
http_request_duration_seconds_bucket{le="1"} 133988
http_request_duration_seconds_bucket{le="+Inf"} 144320
http_request_duration_seconds_sum 53423
http_request_duration_seconds_count 144320
`;

describe('the reader of the format', () => {
  it('reads the example of its description', () => {
    const read = readExposition(PUBLISHED);
    expect(read.get('http_requests_total')).toEqual({
      kind: 'counter',
      help: 'The total number of HTTP requests.',
      samples: [
        { name: 'http_requests_total', labels: { method: 'post', code: '200' }, value: 1027 },
        { name: 'http_requests_total', labels: { method: 'post', code: '400' }, value: 3 },
      ],
    });
    expect(read.get('msdos_file_access_time_seconds')?.samples[0]?.labels).toEqual({
      path: 'C:\\DIR\\FILE.TXT',
      error: 'Cannot find file:\n"FILE.TXT"',
    });
    expect(read.get('something_weird')?.samples[0]?.value).toBe(Number.POSITIVE_INFINITY);
  });
  it.each([
    ['no line feed at the end', 'a 1'],
    ['a value that is none', 'a one\n'],
    ['the same sample twice', 'a{b="1"} 1\na{b="1"} 2\n'],
    ['a type after its samples', 'a 1\n# TYPE a counter\n'],
    ['a kind that there is not', '# TYPE a number\na 1\n'],
    ['two groups of one name', 'a{b="1"} 1\nc 1\na{b="2"} 1\n'],
    ['a name that begins with a digit', '1a 1\n'],
    ['an open quote', 'a{b="1} 1\n'],
    [
      'a histogram whose +Inf is not its count',
      '# TYPE a histogram\na_bucket{le="+Inf"} 1\na_sum 1\na_count 2\n',
    ],
    [
      'buckets out of order',
      '# TYPE a histogram\na_bucket{le="2"} 1\na_bucket{le="1"} 1\na_bucket{le="+Inf"} 1\na_sum 1\na_count 1\n',
    ],
  ])('throws for %s', (_, text) => {
    expect(() => readExposition(text)).toThrow();
  });
});

it('whatever is measured is read back as it was, labels and help of any text included', () => {
  const label = fc.string({ unit: 'grapheme' });
  fc.assert(
    fc.property(
      fc.uniqueArray(label, { maxLength: 5 }),
      fc.double({ noNaN: true }),
      label,
      (texts, value, help) => {
        const text = exposition([
          {
            name: 'thirdhand_a_total',
            kind: 'counter',
            help,
            samples: texts.map((one) => ({ labels: { one }, value })),
          },
          { name: 'thirdhand_b', kind: 'gauge', help: 'b', samples: [{ value: Number.NaN }] },
        ]);
        const read = readExposition(text);
        expect(read.get('thirdhand_a_total')?.samples.map(({ labels }) => labels.one)).toEqual(texts);
        for (const sample of read.get('thirdhand_a_total')?.samples ?? [])
          expect(sample.value).toBe(value + 0);
        expect(read.get('thirdhand_b')?.samples[0]?.value).toBeNaN();
      },
    ),
  );
});
