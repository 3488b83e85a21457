/**
 * What a note must not hold: passcodes, PINs, unlock patterns, passwords, recovery codes and card numbers. A note that is
 * never written cannot be read by the wrong person.
 *
 * It looks for a word such as "passcode" near a value, in English, German, French and Spanish, and for card numbers. A
 * number alone, without such a word, is let through: benches write many. The text is read once from left to right, as
 * words and numbers; every look ahead or back has a fixed reach, so the time grows with the length of the text alone.
 */
import type { Message } from '../language/message.ts';
import { say } from '../language/say.ts';

export type SecretKind = 'passcode' | 'pattern' | 'password' | 'recovery' | 'card';

interface Token {
  kind: 'word' | 'number' | 'mark';
  text: string;
  /** Without case and accents. */
  key: string;
  from: number;
  to: number;
}

/** How far a value may stand from its word: tokens and characters. */
const REACH_TOKENS = 14;
const REACH_CHARACTERS = 60;

/** A word, or several in a row, that a secret stands next to. */
interface Trigger {
  words: readonly string[];
  kind: SecretKind;
  /** The fewest digits that count as a value. */
  digits: number;
  /**
   * What else a value may be than digits: a word that mixes letters and digits (`mixed`); any word after a colon too
   * (`marked`); and also one after "is" (`said`).
   */
  value: 'digits' | 'mixed' | 'marked' | 'said';
  /** Also as the end of a longer word, as German puts them together. */
  ending?: boolean;
  /** Only right before or behind its value: the word has other meanings. */
  close?: boolean;
}

const triggers = (
  kind: SecretKind,
  { digits, value, ending, close }: Omit<Trigger, 'words' | 'kind'>,
  list: string,
): Trigger[] =>
  list.split(',').map((words) => ({
    words: words.trim().split(' '),
    kind,
    digits,
    value,
    ...(ending ? { ending } : {}),
    ...(close ? { close } : {}),
  }));

const TRIGGERS: readonly Trigger[] = [
  ...triggers(
    'passcode',
    { digits: 3, value: 'marked', ending: true },
    `passcode, sperrcode, zugangscode, geratecode, sicherheitscode, freischaltcode, geheimzahl, geheimnummer`,
  ),
  ...triggers(
    'passcode',
    { digits: 3, value: 'marked' },
    `pass code, unlock code, unlocking code, lock code, lockscreen code, screen code, screen lock, device code, phone code,
     access code, security code, code de deverrouillage, code de verrouillage, code d acces, code secret,
     code confidentiel, code du telephone, codigo de desbloqueo, codigo de bloqueo, codigo de acceso, codigo secreto,
     codigo de seguridad, codigo del telefono, clave de acceso, clave de desbloqueo`,
  ),
  // Connectors have pins too: fewer than four digits are a pin's number.
  ...triggers(
    'passcode',
    { digits: 4, value: 'digits' },
    `pin, pin code, pincode, pinnummer, handypin, simpin, nip, puk, code pin, codigo pin, numero pin`,
  ),
  // Errors have codes too.
  ...triggers('passcode', { digits: 4, value: 'digits', close: true }, 'code, codigo'),
  ...triggers(
    'pattern',
    { digits: 4, value: 'marked', ending: true },
    'entsperrmuster, sperrmuster, wischmuster',
  ),
  ...triggers(
    'pattern',
    { digits: 4, value: 'marked' },
    `unlock pattern, unlocking pattern, lock pattern, pattern lock, swipe pattern, screen pattern,
     schema de deverrouillage, motif de deverrouillage, patron de desbloqueo, patron de bloqueo`,
  ),
  ...triggers('pattern', { digits: 4, value: 'digits' }, 'pattern, muster, schema, motif, patron'),
  ...triggers(
    'password',
    { digits: 3, value: 'said', ending: true },
    'password, passwort, kennwort, passphrase',
  ),
  ...triggers(
    'password',
    { digits: 3, value: 'said' },
    'pass word, passwd, pwd, pw, mot de passe, mdp, contrasena, contrasenia, clave secreta',
  ),
  ...triggers('password', { digits: 4, value: 'mixed', close: true }, 'pass, clave'),
  ...triggers(
    'recovery',
    { digits: 4, value: 'said' },
    // "2fa code" is a number and two words.
    `fa code, recovery key, recovery code, recovery codes, recovery phrase, seed phrase, backup code, backup codes,
     verification code, one time code, otp, wiederherstellungsschlussel, wiederherstellungscode,
     code de recuperation, code de secours, code de verification, cle de secours, codigo de recuperacion,
     clave de recuperacion, codigo de verificacion`,
  ),
  ...triggers('card', { digits: 3, value: 'digits' }, 'cvv, cvc, cvv2, cvc2'),
];

const set = (words: string): ReadonlySet<string> => new Set(words.split(/\s+/));
const byFirstWord = new Map<string, Trigger[]>();
for (const trigger of TRIGGERS) {
  const [first = ''] = trigger.words;
  byFirstWord.set(first, [...(byFirstWord.get(first) ?? []), trigger]);
}
const endings = TRIGGERS.filter(({ ending }) => ending);

/** "The passcode is 4711": what joins a word and its value. */
const COPULAS = set('is was are be s ist war lautet lautete heisst sei est etait sera es era son sera fue');
/** What may stand between a value and the word behind it: "4711 is her passcode". */
const BEFORE = set(
  `is was as the a her his their my your for ist war als die der das ihr sein mein le la les l est comme son sa mon
   el es como su mi para de of`,
);
/** Before the word: there is none, or nobody knows it. */
const NEGATIONS = set(
  'no not without w never neither kein keine keinen keinem ohne nie pas sans aucun aucune sin ningun ninguna nunca',
);
/** Behind the word: it is not a value, or there is none. */
const NO_VALUE = set(
  `a an the no not none never unknown nil na removed off disabled cleared reset forgotten forgot missing lost gone needed
   required unset set known wrong right correct incorrect changed given asked written saved kept stored entered tried
   held with without on in at to from by for of off and or but if when that this it its he she they we you her his
   their my our same still now also already only very strong weak long short back again ok okay fine safe there here
   what which owner customer client unlocked locked working works protected accepted rejected needs asks please see
   ask wanted optional unclear different yes y n x tbd tba has have had knows know fingerprint face pattern pin swipe
   ja nein hat habe weiss muster ein eine der die das dem den kein keine nicht unbekannt entfernt vergessen aus fehlt weg notig falsch richtig
   geandert gesetzt beim bei mit ohne auf im in und oder noch nur auch jetzt bekannt gespeichert gesperrt kunde kundin
   oui empreinte schema un une le la les de du des pas non inconnu inconnue oublie oubliee retire retiree supprime supprimee faux bon
   change donne note avec sans sur dans et ou mais encore seulement aussi maintenant chez client cliente
   si huella patron una el los las no desconocida desconocido olvidada olvidado quitada quitado eliminada eliminado cambiada correcta
   incorrecta con sin en y o pero todavia solo tambien ahora cliente dueno`,
);
const CURRENCIES = set('eur usd aud gbp chf nzd cad jpy sek nok dkk euro euros dollars');
/** Behind a number: it measures something. */
const UNITS = set(
  `mah ah mv kv ma μa μf μv ω kω mω mw wh mm cm mg kg gb mb kb tb hz khz mhz ghz ohm ohms kohm min mins minutes minuten
   minutos hours stunden heures horas sec secs seconds sekunden secondes segundos ms days tage jours dias percent
   db dbm nits cycles zyklen ciclos ppi px times`,
);
/** Units of one letter: as capitals, or right behind the number. */
const SHORT_UNITS = set('v a w m g k h s c f x');
const MONEY_MARKS = set('€ $ £ ¥');
/** Before "code" or a number: it is a code of something else, or the number of something. */
const OTHER_CODES = set(
  `error fault fehler erreur error status panic bar qr zip post postal country colour color model modell modele modelo
   part teile article date datum order bestell product produkt area dialling source serial exit boot beep discount promo
   job note trace imei tac sku item artikel`,
);
const NUMBERED = set(
  'job jobs note notes trace imei imeisv tac serial seriennummer model modell modele modelo android',
);
const STOPS = set('. ; !');
const QUOTES = set('" \' “ ” „ « » ` ‘ ’');
const JOINERS = set(': = - – — → > ( [ { * # / | ? ~ ,');

/** Zeros of the decimal digits that people type besides the Latin ones. */
const ZEROS = [0x0660, 0x06f0, 0x0966, 0x09e6, 0x0e50] as const;
const latinDigit = (character: string): string => {
  const code = character.codePointAt(0) ?? 0;
  const zero = ZEROS.find((start) => code >= start && code < start + 10);
  return zero === undefined ? character : String(code - zero);
};
const withoutAccents = (text: string): string => text.normalize('NFKD').replace(/\p{M}/gu, '');

function tokensOf(text: string): { plain: string; tokens: Token[] } {
  const plain = withoutAccents(text.normalize('NFKC')).replace(/\p{Nd}/gu, latinDigit);
  const tokens = [...plain.matchAll(/[\p{L}]+|[0-9]+|[^\s]/gu)].map((match): Token => {
    const [word] = match;
    return {
      kind: /^[0-9]/.test(word) ? 'number' : /^\p{L}/u.test(word) ? 'word' : 'mark',
      text: word,
      key: word.toLowerCase().replaceAll('ß', 'ss'),
      from: match.index,
      to: match.index + word.length,
    };
  });
  return { plain, tokens };
}

/** True when the tokens touch. */
const glued = (left: Token | undefined, right: Token | undefined): boolean =>
  left !== undefined && right !== undefined && left.to === right.from;

/** One number as written, from a token on: "4711", "47 11", "1-2-3-6", "0.345", "2026-03-02", "09:30". */
interface Written {
  digits: string;
  /** The token behind it. */
  next: number;
  /** A measured value, a date or a time: never a code. */
  measured: boolean;
}

/** At most this many groups make one number. */
const GROUPS = 16;

function numberAt(tokens: readonly Token[], start: number): Written {
  let digits = tokens[start]?.text ?? '';
  let next = start + 1;
  let measured = false;
  const sizes = [digits.length];
  while (sizes.length < GROUPS) {
    const [mark, number] = [tokens[next], tokens[next + 1]];
    const spaced = mark?.kind === 'number' && !glued(tokens[next - 1], mark);
    const joined =
      mark?.kind === 'mark' &&
      number?.kind === 'number' &&
      glued(tokens[next - 1], mark) &&
      glued(mark, number);
    if (joined && /^[.,:/]$/.test(mark.text)) {
      // 3.85 and 0,345 are measured; 09:30 is a time; 2/3/2026 a date.
      measured = true;
      next += 2;
      sizes.push(number.text.length);
    } else if (joined && /^[-–—]$/.test(mark.text)) {
      digits += number.text;
      sizes.push(number.text.length);
      next += 2;
    } else if (spaced && !measured && mark.text.length === sizes[0] && sizes[0] <= 4) {
      // "47 11" and "1 2 3 4" are one number, "12 3110" are two.
      digits += mark.text;
      sizes.push(mark.text.length);
      next += 1;
    } else break;
  }
  // ISO 8601: a calendar date.
  if (sizes.join() === '4,2,2' && /^(19|20)/.test(digits)) measured = true;
  return { digits, next, measured };
}

/** True when what is written at `start` could be a code of at least `least` digits. */
function isCode(tokens: readonly Token[], start: number, { digits, next, measured }: Written, least: number) {
  if (measured || digits.length < least || digits.length > 16) return false;
  if (isUnit(tokens[next - 1], tokens[next])) return false;
  const [before, further] = [tokens[start - 1], tokens[start - 2]];
  if (!before) return true;
  if (NUMBERED.has(before.key) || CURRENCIES.has(before.key) || MONEY_MARKS.has(before.text)) return false;
  // "error code 4013": the code of something else.
  if (further && (before.key === 'code' || before.key === 'codigo') && OTHER_CODES.has(further.key))
    return false;
  // "job #1204": the number of something.
  return !(before.text === '#' && further && NUMBERED.has(further.key));
}

function isUnit(number: Token | undefined, after: Token | undefined): boolean {
  if (!after) return false;
  if (UNITS.has(after.key) || CURRENCIES.has(after.key) || MONEY_MARKS.has(after.text)) return true;
  if (after.text === '%' || after.text === '°') return true;
  return SHORT_UNITS.has(after.key) && (glued(number, after) || after.text !== after.key);
}

/** The piece of text from a token to the next space: "Tr0ub4dor&3". */
function chunkAt(tokens: readonly Token[], start: number): string {
  let text = tokens[start]?.text ?? '';
  for (let at = start + 1; at - start < REACH_TOKENS && glued(tokens[at - 1], tokens[at]); at += 1)
    text += tokens[at]?.text ?? '';
  return text;
}

/** French "l'" and "d'". */
const isArticle = (tokens: readonly Token[], at: number): boolean =>
  /^[ld]$/.test(tokens[at]?.key ?? '') && /^['’]$/.test(tokens[at + 1]?.text ?? '');

const looksMade = (chunk: string): boolean =>
  chunk.length >= 5 && /\p{L}/u.test(chunk) && /[0-9]/.test(chunk) && !/^[0-9]+\p{L}{1,3}$/u.test(chunk);

/** A value behind the word at [start, end). */
function valueBehind(tokens: readonly Token[], start: number, end: number, trigger: Trigger): boolean {
  const word = tokens[end - 1];
  if (!word) return false;
  const denied = [tokens[start - 1], tokens[start - 2]].some((one) => one && NEGATIONS.has(one.key));
  let doubted = denied;
  let marked = false;
  let said = false;
  let words = 0;
  for (let at = end; at < Math.min(tokens.length, end + REACH_TOKENS); at += 1) {
    const token = tokens[at];
    if (!token || token.from - word.to > REACH_CHARACTERS || STOPS.has(token.text)) return false;
    if (token.kind === 'number') {
      const written = numberAt(tokens, at);
      if (isCode(tokens, at, written, trigger.digits) && !(trigger.close && words > 0)) return true;
      // "Tr0ub4dor" and "4you2see" are words of a kind.
      if (words === 0 && trigger.value !== 'digits' && !doubted && looksMade(chunkAt(tokens, at)))
        return true;
      at = written.next - 1;
      words += 1;
      continue;
    }
    if (token.kind === 'mark') {
      if (token.text === ',' && doubted) return false;
      if (token.text === ':' || token.text === '=') marked ||= words === 0;
      // "the passcode's 4711"
      if (words === 0 && /^['’]$/.test(token.text) && glued(tokens[at - 1], token)) continue;
      const quoted = QUOTES.has(token.text) && words === 0 && trigger.value === 'said';
      if (quoted && tokens[at + 1]?.kind === 'word' && !NO_VALUE.has(tokens[at + 1]?.key ?? ''))
        return !doubted;
      if (!QUOTES.has(token.text) && !JOINERS.has(token.text)) words += 1;
      continue;
    }
    if (words === 0 && COPULAS.has(token.key)) {
      said = true;
      continue;
    }
    if (words === 0) {
      const plain = NO_VALUE.has(token.key) || isArticle(tokens, at);
      if (!doubted && trigger.value !== 'digits') {
        if (looksMade(chunkAt(tokens, at))) return true;
        if (marked && !plain && trigger.value !== 'mixed') return true;
        const behind = tokens[at + 1];
        // "The password is swordfish." A word with more behind it says something of the password.
        if (said && !plain && trigger.value === 'said' && (!behind || behind.kind === 'mark')) return true;
      }
      doubted ||= plain;
    }
    words += 1;
  }
  return false;
}

/** A number before the word at `start`: "4711 is the passcode", "1234 (PIN)". */
function valueBefore(tokens: readonly Token[], start: number, end: number, trigger: Trigger): boolean {
  const word = tokens[start];
  if (!word) return false;
  for (let at = start - 1; at >= Math.max(0, start - 6); at -= 1) {
    const token = tokens[at];
    if (!token || word.from - token.to > REACH_CHARACTERS) return false;
    if (token.kind === 'number') {
      const touches = at === start - 1;
      // "Box 2210 passcode unknown": the number is not the passcode's.
      if (touches ? NO_VALUE.has(tokens[end]?.key ?? '') : trigger.close) return false;
      let first = at;
      // Back to where the number begins: "47 11", "1-2-3-6".
      while (
        first > Math.max(0, at - 2 * GROUPS) &&
        (tokens[first - 1]?.kind === 'number' || isHyphen(tokens, first - 1))
      )
        first -= 1;
      return isCode(tokens, first, numberAt(tokens, first), Math.max(4, trigger.digits));
    }
    const isJoiner =
      token.kind === 'mark' &&
      token.text !== ',' &&
      (JOINERS.has(token.text) || QUOTES.has(token.text) || token.text === ')');
    if (!isJoiner && !BEFORE.has(token.key)) return false;
  }
  return false;
}

const isHyphen = (tokens: readonly Token[], at: number): boolean =>
  /^[-–—]$/.test(tokens[at]?.text ?? '') &&
  tokens[at - 1]?.kind === 'number' &&
  glued(tokens[at - 1], tokens[at]);

/** The triggers that begin at a token, the longest first, each with the token behind it. */
function triggersAt(tokens: readonly Token[], start: number): { trigger: Trigger; end: number }[] {
  const key = tokens[start]?.key ?? '';
  const whole = (byFirstWord.get(key) ?? []).flatMap((trigger) => {
    let end = start;
    for (const word of trigger.words) {
      // "code d'accès", "pass-code": one mark may stand between.
      if (end > start && tokens[end]?.kind === 'mark' && /^['’-]$/.test(tokens[end]?.text ?? '')) end += 1;
      if (tokens[end]?.key !== word) return [];
      end += 1;
    }
    return [{ trigger, end }];
  });
  const parts = endings.flatMap((trigger) =>
    key !== trigger.words[0] && key.endsWith(trigger.words[0] ?? '') ? [{ trigger, end: start + 1 }] : [],
  );
  return [...whole, ...parts].sort((a, b) => b.end - a.end);
}

function worded(tokens: readonly Token[]): SecretKind | null {
  for (let start = 0; start < tokens.length; start += 1) {
    if (tokens[start]?.kind !== 'word') continue;
    const [longest] = triggersAt(tokens, start);
    if (!longest) continue;
    const { trigger, end } = longest;
    const before = tokens[start - 1]?.key ?? '';
    if (trigger.close && OTHER_CODES.has(before)) continue;
    if (valueBehind(tokens, start, end, trigger)) return trigger.kind;
    if (valueBefore(tokens, start, end, trigger)) return trigger.kind;
  }
  return null;
}

/** The Luhn sum of ISO/IEC 7812-1, Annex B: true when it is a multiple of ten. */
export function luhnHolds(digits: string): boolean {
  let sum = 0;
  for (let index = 0; index < digits.length; index += 1) {
    const digit = Number(digits[digits.length - 1 - index]);
    const doubled = index % 2 === 1 ? 2 * digit : digit;
    sum += doubled > 9 ? doubled - 9 : doubled;
  }
  return sum % 10 === 0;
}

/** Words before a number that say it is no card's. */
const OTHER_NUMBERS = set(
  'imei imeisv meid iccid sim eid serial seriennummer sn ean gtin barcode barcodes tracking',
);

/** The groups in which card numbers are written: 4-4-4-4 and longer, 4-6-5, 4-6-4, two halves, or all in one. */
const groupsOfCard = (sizes: readonly number[]): boolean =>
  sizes.length === 1 ||
  (sizes.slice(0, -1).every((size) => size === 4) && sizes.length >= 3) ||
  (sizes.length === 3 && sizes[0] === 4 && sizes[1] === 6) ||
  (sizes.length === 2 && sizes.every((size) => size >= 6));

/**
 * A payment card number: 13 to 19 digits with a right Luhn sum, alone or in groups. Numbers that are told apart from
 * cards: 15 digits, which are an IMEI (its check digit is a Luhn digit too), unless they begin with 34 or 37, where the
 * 15-digit cards are; those that begin with 89, which is telecommunication in ISO/IEC 7812 and begins every SIM card's
 * number (ITU-T E.118); one digit over and over; and what stands behind a word such as IMEI, serial or barcode.
 */
function cardNumber(tokens: readonly Token[]): boolean {
  for (let start = 0; start < tokens.length; start += 1) {
    if (tokens[start]?.kind !== 'number') continue;
    const named = tokens.slice(Math.max(0, start - 4), start).some(({ key }) => OTHER_NUMBERS.has(key));
    if (named) continue;
    let digits = '';
    const sizes: number[] = [];
    for (let at = start; ; ) {
      const token = tokens[at];
      if (token?.kind !== 'number') break;
      digits += token.text;
      sizes.push(token.text.length);
      if (digits.length > 19) break;
      if (digits.length >= 13 && groupsOfCard(sizes) && isCard(digits)) return true;
      at += /^[-–—./·]$/.test(tokens[at + 1]?.text ?? '') ? 2 : 1;
    }
  }
  return false;
}

const isCard = (digits: string): boolean =>
  !/^(\d)\1*$/.test(digits) &&
  !digits.startsWith('89') &&
  (digits.length !== 15 || /^3[47]/.test(digits)) &&
  luhnHolds(digits);

/** An address and, glued behind it, what opens it: "moss@mail.example / Sunflower99". */
const isCredential = (plain: string): boolean =>
  plain.split(/\s+/).some((word, index, words) => {
    if (!/^[^@]{1,64}@[^@]{1,200}$/.test(word)) return false;
    const [, behind = ''] = word.split(/[:|/](.*)/s);
    const mark = words[index + 1] ?? '';
    const next = /^[:|/]$/.test(mark) ? (words[index + 2] ?? '') : '';
    return looksMade(behind) || looksMade(next);
  });

/** What the text seems to hold that must not be kept; null when nothing was recognised. Never throws. */
export function findSecret(text: string): SecretKind | null {
  const { plain, tokens } = tokensOf(text);
  return worded(tokens) ?? (cardNumber(tokens) ? 'card' : null) ?? (isCredential(plain) ? 'password' : null);
}

/** What it is called, for a refusal. */
export const secretWords: Readonly<Record<SecretKind, Message>> = {
  passcode: say`a passcode or PIN`,
  pattern: say`an unlock pattern`,
  password: say`a password`,
  recovery: say`a recovery or one-time code`,
  card: say`a card number`,
};
