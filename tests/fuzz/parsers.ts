/** Every parser that what a person typed or a platform sent can reach, with what must hold of it for any text. */

import { problemOf } from '../../commands/framework/option.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import { Refusal } from '../../commands/framework/refusal.ts';
import { commands } from '../../commands/index.ts';
import { yaml } from '../../knowledge/yaml.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { readImei } from '../../shared/imei/imei.ts';
import { maskImeis } from '../../shared/imei/mask-imeis.ts';
import { languages } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import { parseSightingsCsv } from '../../shared/market/sightings-csv.ts';
import { parseAmount } from '../../shared/money/parse-amount.ts';
import { findSecret } from '../../shared/notes/secrets.ts';
import { parseWeek } from '../../shared/week/iso-week.ts';
import { addressOf, readIncoming } from '../../src/surfaces/discord/incoming.ts';
import { hear } from '../../src/surfaces/matrix/events.ts';
import { knowledge, testBot } from '../test-bot.ts';
import { discordInteractions, matrixEvents, spoiled } from './payloads.ts';

const now = new Date('2026-03-02T09:00:00Z');
const pick = <T>(list: readonly T[], random: () => number): T | undefined =>
  list[Math.floor(random() * list.length)];
const context = testBot().context();
const options = commands.flatMap(({ actions }) =>
  Object.values(actions).flatMap((action) => Object.values(action.options)),
);
const measured = [...knowledge().checks.values()].filter(({ unit }) => unit);

/** What is said has words, in every language. */
const said = (message: Message | undefined): boolean =>
  message !== undefined && languages.every((one) => render(message, one) !== '');

/** Each throws when something does not hold. A refusal that helps is what is wanted of a bad text. */
export const parsers: Readonly<Record<string, (text: string, random: () => number) => void>> = {
  line: (text) => {
    try {
      parseLine(text, commands);
    } catch (error) {
      if (!(error instanceof Refusal) || !said(error.detail.problem) || !said(error.detail.expected))
        throw error;
    }
  },
  option: (text, random) => {
    const option = options[Math.floor(random() * options.length)];
    const read = option?.schema(context).safeParse(text);
    if (read && !read.success && !said(problemOf(read.error).problem))
      throw new Error('a refusal without words');
  },
  amount: (text) => {
    const read = parseAmount(text, 'AUD');
    if (read.ok ? !Number.isSafeInteger(read.money.minor) : !said(read.problem) || !said(read.expected))
      throw new Error('amount');
  },
  imei: (text) => {
    const read = readImei(text);
    if (read.ok ? !/^\d{15}$/.test(read.imei.digits) : !said(read.problem)) throw new Error('imei');
  },
  reading: (text, random) => {
    const check = measured[Math.floor(random() * measured.length)];
    const read = check && readAnswer(check, text);
    if (read && !read.ok && !said(read.expected)) throw new Error('reading');
  },
  week: (text) => {
    parseWeek(text);
  },
  secret: (text) => {
    findSecret(text, knowledge().secrets);
    maskImeis(text, knowledge().secrets);
  },
  csv: (text) => {
    const { problems, rows } = parseSightingsCsv(
      `date,kind,what,component,grade,storage,price,currency,how,note\n2026-01-02,phone,Orrin K3,,0,,${text}\n${text}`,
      { currency: 'AUD', today: '2026-03-02', knownModel: (name) => name === 'Orrin K3' },
    );
    if (problems.some(({ problem, expected }) => !problem || !expected))
      throw new Error('csv: a problem without words');
    if (!problems.length && rows.some(({ price }) => !(price.minor > 0)))
      throw new Error('csv: a price of nothing');
  },
  discord: (text, random) => {
    const payload = spoiled(pick(discordInteractions, random), random, text);
    addressOf(payload);
    const read = readIncoming(payload);
    if (read && (!read.id || !read.user)) throw new Error('an interaction of nobody');
  },
  matrix: (text, random) => {
    const read = hear(spoiled(pick(matrixEvents, random), random, text), '@thirdhand:shed.test', now);
    if (read && !read.sender) throw new Error('an event of nobody');
  },
  yaml: (text) => {
    const { YAMLParseError, parseDocument } = yaml();
    try {
      parseDocument(text, { strict: true, logLevel: 'silent' }).toJS({ maxAliasCount: 50 });
    } catch (error) {
      if (!(error instanceof YAMLParseError || error instanceof ReferenceError)) throw error;
    }
  },
};
