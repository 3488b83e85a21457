/**
 * Every text that people read, as it stands in the sources: `npm run texts` lists them, and what each language lacks.
 * A catalogue's keys are these texts, with {0}, {1} ... for what is put in.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseAst } from 'rolldown/parseAst';
import { z } from 'zod';
import type { Catalogue } from '../../shared/language/catalogue-entry.ts';
import { catalogues } from '../../shared/language/say.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folders = ['commands', 'shared', 'src'];

export interface Found {
  text: string;
  /** It has forms for a count. */
  counted: boolean;
  file: string;
}

/** As much of the syntax tree as is looked at. */
const nodeSchema = z.looseObject({ type: z.string() });
type Node = z.infer<typeof nodeSchema>;
const nodeOf = (value: unknown): Node | null => nodeSchema.safeParse(value).data ?? null;
const nodesOf = (value: unknown): Node[] =>
  (Array.isArray(value) ? value : [value]).flatMap((one) => nodeOf(one) ?? []);

const literalOf = (value: unknown): string | null => {
  const node = nodeOf(value);
  return node?.type === 'Literal' && typeof node.value === 'string' ? node.value : null;
};
const nameOf = (value: unknown): string => {
  const node = nodeOf(value);
  return typeof node?.name === 'string' ? node.name : (literalOf(value) ?? '');
};
const quasiSchema = z.looseObject({ value: z.looseObject({ cooked: z.string() }) });
const templateOf = (value: unknown): string =>
  z
    .array(quasiSchema)
    .parse(nodeOf(value)?.quasis)
    .map((one, index) => (index ? `{${index - 1}}${one.value.cooked}` : one.value.cooked))
    .join('');

/** Wordings by key, written down before anybody speaks: `stateWords`, `summaries`. */
const isTable = (name: string): boolean => /([wW]ords|summaries)$/.test(name);
const isProse = (text: string): boolean => /[A-Za-z]{2}/.test(text);

/** Names of constants that are said in the language of the moment: `translated(CLOSED)`. */
const spokenIn = (file: string): string[] =>
  [...readFileSync(join(root, file), 'utf8').matchAll(/\btranslated\((\w+)\)/g)].map(([, name = '']) => name);

function textsIn(file: string, spoken: ReadonlySet<string>): Found[] {
  const found: Found[] = [];
  const add = (text: string | null, counted = false): void => {
    if (text !== null && isProse(text)) found.push({ text, counted, file });
  };
  const visit = (node: Node, table: boolean): void => {
    let within = table;
    switch (node.type) {
      case 'TaggedTemplateExpression':
        if (nameOf(node.tag) === 'say') add(templateOf(node.quasi));
        break;
      case 'CallExpression': {
        const [, one, many] = nodesOf(node.arguments);
        if (nameOf(node.callee) === 'counted' && literalOf(one) !== null) add(literalOf(many), true);
        break;
      }
      case 'VariableDeclarator':
        within = isTable(nameOf(node.id));
        if (spoken.has(nameOf(node.id))) add(literalOf(node.init));
        break;
      case 'ArrowFunctionExpression':
      case 'FunctionExpression':
      case 'FunctionDeclaration':
        within = false;
        break;
      case 'Property':
        if (within || ['summary', 'expected'].includes(nameOf(node.key))) add(literalOf(node.value));
        break;
    }
    for (const value of Object.values(node)) for (const inner of nodesOf(value)) visit(inner, within);
  };
  for (const statement of parseAst(readFileSync(join(root, file), 'utf8'), { lang: 'ts' }).body)
    for (const node of nodesOf(statement)) visit(node, false);
  return found;
}

/** Each text once, in the order of the sources. */
export function textsOfSources(): Found[] {
  const files = folders.flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts') && !name.startsWith('language'))
      .map((name) => `${folder}/${name}`)
      .sort(),
  );
  const spoken = new Set(files.flatMap(spokenIn));
  return [...new Map(files.flatMap((file) => textsIn(file, spoken)).map((one) => [one.text, one])).values()];
}

export interface State {
  language: string;
  /** Texts that the catalogue lacks. */
  lacks: Found[];
  /** Keys that no source has any more. */
  stale: string[];
  /** Keys whose translation puts in other things than the English, or has too few forms. */
  wrong: string[];
}

const holes = (text: string): string => [...new Set(text.match(/\{\d\}/g))].sort().join('');

export function stateOf(language: string, catalogue: Catalogue, texts: readonly Found[]): State {
  const keys = new Map(texts.map((one) => [one.text, one]));
  const rules = new Intl.PluralRules(language).resolvedOptions().pluralCategories;
  const isWrong = ([key, wording]: [string, Catalogue[string]]): boolean => {
    if (typeof wording === 'string') return keys.get(key)?.counted === true || holes(wording) !== holes(key);
    return (
      rules.some((rule) => wording[rule] === undefined) ||
      // A form for one thing may say it without the number.
      Object.values(wording).some((form) =>
        [...form.matchAll(/\{\d\}/g)].some(([hole]) => !key.includes(hole) && hole !== '{0}'),
      )
    );
  };
  return {
    language,
    lacks: texts.filter(({ text }) => !Object.hasOwn(catalogue, text)),
    stale: Object.keys(catalogue).filter((key) => !keys.has(key)),
    wrong: Object.entries(catalogue)
      .filter(isWrong)
      .map(([key]) => key),
  };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const texts = textsOfSources();
  const states = Object.entries(catalogues)
    .filter(([language]) => language !== 'en')
    .map(([language, catalogue]) => stateOf(language, catalogue, texts));
  if (process.argv.includes('--json'))
    process.stdout.write(`${JSON.stringify({ texts, states }, null, 2)}\n`);
  else {
    process.stdout.write(`${texts.length} texts\n`);
    for (const { language, lacks, stale, wrong } of states) {
      process.stdout.write(
        `${language}: lacks ${lacks.length}, stale ${stale.length}, wrong ${wrong.length}\n`,
      );
      for (const { text, file } of lacks) process.stdout.write(`  lacks ${file}: ${JSON.stringify(text)}\n`);
      for (const key of stale) process.stdout.write(`  stale: ${JSON.stringify(key)}\n`);
      for (const key of wrong) process.stdout.write(`  wrong: ${JSON.stringify(key)}\n`);
    }
  }
}
