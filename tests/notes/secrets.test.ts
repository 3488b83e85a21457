import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadKnowledge, packFolder } from '../../knowledge/load.ts';
import { readSecretWords, type SecretKind } from '../../knowledge/secrets.ts';
import { maskImeis } from '../../shared/imei/mask-imeis.ts';
import { luhnHolds } from '../../shared/notes/card-number.ts';
import { findSecret as find } from '../../shared/notes/secrets.ts';
import { secretAttempts } from './attempts.ts';

const { secrets } = loadKnowledge();
const findSecret = (text: string) => find(text, secrets);

describe('what a note must not hold', () => {
  const refused: readonly (readonly [SecretKind, string])[] = [
    ['passcode', 'passcode 4711'],
    ['passcode', 'Passcode: 471100'],
    ['passcode', 'her passcode is 47 11 00'],
    ['passcode', 'the passcode she told me on the phone is 4711'],
    ['passcode', 'passcode reset to 1234'],
    ['passcode', 'pass-code = 1234'],
    ['passcode', 'the passcode’s 4711'],
    ['passcode', 'passcode: aKey4Me'],
    ['passcode', 'passcode: banana'],
    ['passcode', '4711 is the passcode on this one'],
    ['passcode', 'use 1234 as pin'],
    ['passcode', '1234 (PIN)'],
    ['passcode', 'PIN1234'],
    ['passcode', 'PIN? 1234.'],
    ['passcode', 'PIN 1 2 3 4'],
    ['passcode', 'PIN ١٢٣٤'],
    ['passcode', 'ＰＩＮ：１２３４'],
    ['passcode', 'SIM PIN 0000, PUK 12345678'],
    ['passcode', 'unlock code 142536'],
    ['passcode', 'lock code: 123'],
    ['passcode', 'code 4711'],
    ['passcode', 'the code is 471147'],
    ['passcode', 'no passcode needed now, but the old passcode was 4711'],
    ['pattern', 'unlock pattern: L from the top left'],
    ['pattern', 'pattern 1-2-3-6-9'],
    ['pattern', 'pattern is 14789'],
    ['pattern', 'lock pattern 1 4 7 8'],
    ['password', 'password: swordfish'],
    ['password', 'password is swordfish.'],
    ['password', 'password "swordfish"'],
    ['password', 'Password Tr0ub4dor&3'],
    ['password', 'pw: x7-Lamp'],
    ['password', 'account moss@mail.example pass: lamp22'],
    ['password', 'passphrase: horse battery staple'],
    ['password', 'moss@mail.example / Sunflower99'],
    ['password', 'moss@mail.example:Sunflower99'],
    ['recovery', 'recovery key: AB12-CD34-EF56'],
    ['recovery', 'backup codes 1234 5678'],
    ['recovery', '2fa code 491023'],
    ['card', 'cvv 123'],
    // German
    ['passcode', 'Sperrcode 4711'],
    ['passcode', 'Die PIN lautet 4711'],
    ['passcode', 'Entsperr-Code: 4711'],
    ['passcode', 'Handy-PIN ist 4711'],
    ['passcode', 'Gerätecode 471100'],
    ['passcode', '4711 ist die Geheimzahl'],
    ['pattern', 'Entsperrmuster: Z von oben'],
    ['pattern', 'Muster 14789'],
    ['password', 'Passwort: Sonnenblume'],
    ['password', 'Das Kennwort ist Sonnenblume.'],
    ['password', 'WLAN-Passwort Sonne2024x'],
    // French
    ['passcode', 'code de déverrouillage 4711'],
    ['passcode', 'le code d’accès est 4711'],
    ['passcode', 'code PIN : 4711'],
    ['pattern', 'schéma de déverrouillage : Z depuis le haut'],
    ['password', 'mot de passe : tournesol'],
    ['password', 'le mot de passe est tournesol'],
    ['password', 'mdp tournesol99'],
    // Spanish
    ['passcode', 'código de desbloqueo 4711'],
    ['passcode', 'el NIP es 4711'],
    ['pattern', 'patrón de desbloqueo: Z desde arriba'],
    ['password', 'contraseña: girasol'],
    ['password', 'la contraseña es girasol'],
    ['password', 'clave girasol99'],
    // Card numbers that payment networks publish for tests alone (from memory); their Luhn sums hold.
    ['card', '4111 1111 1111 1111'],
    ['card', 'paid with 4111-1111-1111-1111 on Monday'],
    ['card', '5555555555554444'],
    ['card', '3782 822463 10005'],
    ['card', '378282246310005'],
    ['card', '4222222222222'],
    ['card', '4111 1111 1111 1111 2027'],
    ['card', '４１１１１１１１１１１１１１１１'],
  ];
  it.each(refused)('%s: %s', (kind, text) => {
    expect(findSecret(text)).toBe(kind);
    // Wherever it stands in a longer note.
    expect(findSecret(`Came in wet. ${text}`)).not.toBeNull();
    expect(findSecret(`${text}; bring it back on Friday`)).not.toBeNull();
  });
});

describe('what benches write', () => {
  it.each([
    'Asked for a passcode; she would rather unlock it herself',
    'passcode unknown, battery 3110',
    'Passcode unknown. 412 cycles, 3110 mAh',
    'no passcode, owner removed it. Box 2210',
    'without PIN, works',
    'passcode entered by the owner at 14:30, 87 %, 412 cycles',
    'the password is with the owner',
    'password is wrong, account still locked',
    'needs password from the owner',
    'owner forgot the password',
    'The PIN is bent',
    'PIN 14 of the connector is bent',
    'pins 3 and 4 are shorted, 0.345 V',
    'Pin 1: 0.345, pin 2: 3.85 V',
    'pin 12 3110 mV',
    'error code 4013 after restore',
    'Fehlercode 4013',
    'code erreur 1234',
    'código de error 1234',
    'error code 4013 passcode screen stays',
    'pattern lock works',
    'crack pattern: spider web',
    'screen lock: none',
    'touch test pass: all, camera 2 of 2',
    '4711',
    'box 123456',
    'Serial 12345678',
    'call her on 0400 123 456',
    'paid AUD 1200 for 3',
    'job #1204, passcode removed',
    'passcode asked for on 2026-03-02',
    'adhesive 3 mm, 4.20 V, 1850 mAh',
    'Passwort unbekannt',
    'Kunde hat das Passwort vergessen',
    'kein Sperrcode, Akku 1850',
    'mot de passe oublié',
    'sans code, 412 cycles',
    'sin contraseña, batería 1850 mAh',
    'contraseña desconocida',
    // An IMEI from 3GPP-shaped test data: its check digit is a Luhn digit too.
    '490154203237518',
    'IMEI 49 015420 323751 8',
    'IMEI 378282246310005',
    // A SIM card's number begins with 89 (ITU-T E.118).
    '8991101200003204514',
    'barcode 4006381333931',
    '0000000000000000',
    '1234 5678 9012 3456',
    '',
  ])('lets through: %s', (text) => {
    expect(findSecret(text)).toBeNull();
  });
});

describe('attempts that nobody thought of while it was made', () => {
  const wrongIn = (half: 'held-out' | 'developing', isMain: boolean, isSecret: boolean) => {
    const all = secretAttempts(half).filter(
      (one) => one.isSecret === isSecret && /^(en|de)$/.test(one.language) === isMain,
    );
    const wrong = all.filter(({ text }) => (findSecret(text) !== null) !== isSecret);
    return { share: wrong.length / all.length, wrong: wrong.map(({ text }) => text), all: all.length };
  };
  it.each(['held-out', 'developing'] as const)(
    '%s: misses and false alarms stay within their aims',
    (half) => {
      const [main, others] = [wrongIn(half, true, true), wrongIn(half, false, true)];
      expect(main.all + others.all).toBeGreaterThanOrEqual(100);
      expect(main.share, main.wrong.join('\n')).toBeLessThanOrEqual(0.08);
      expect(others.share, others.wrong.join('\n')).toBeLessThanOrEqual(0.15);
      const alarms = [wrongIn(half, true, false), wrongIn(half, false, false)];
      const count = alarms.reduce((sum, { all }) => sum + all, 0);
      expect(count).toBeGreaterThanOrEqual(100);
      const told = alarms.flatMap(({ wrong }) => wrong);
      expect(told.length / count, told.join('\n')).toBeLessThanOrEqual(0.02);
    },
  );
  it('lets all of the sentences about phones through that the reader of sentences is tried with', () => {
    const folder = new URL('../words/', import.meta.url);
    const texts = readdirSync(folder)
      .filter((name) => name.endsWith('.tsv'))
      .flatMap((name) => readFileSync(new URL(name, folder), 'utf8').split('\n'))
      .filter((line) => line !== '' && !line.startsWith('#'))
      .map((line) => line.split('\t')[0] ?? '');
    expect(texts.length).toBeGreaterThan(500);
    expect(texts.filter((text) => findSecret(text) !== null)).toEqual([]);
  });
  it.each(['held-out', 'developing'] as const)(
    '%s: IMEIs are masked but for four digits, other numbers are not',
    (half) => {
      const lines = readFileSync(new URL(`./imeis.${half}.tsv`, import.meta.url), 'utf8')
        .split('\n')
        .filter((line) => line !== '' && !line.startsWith('#'));
      expect(lines.length).toBe(30);
      for (const line of lines) {
        const [kind, text = '', last = ''] = line.split('\t');
        const masked = maskImeis(text, secrets);
        if (kind === 'innocent') expect(masked).toBe(text);
        else {
          expect(masked, text).toContain(`•${last}`);
          expect(masked.replace(/IMEI1?/i, '').replace(/\D/g, ''), text).toBe(last);
        }
      }
    },
  );
  it('readings in a row are no IMEI, though their check digit be right', () => {
    expect(maskImeis('3.98 4.01 4.02 3.97 3.96', secrets)).toBe('3.98 4.01 4.02 3.97 3.96');
    expect(maskImeis('49.015420.3237518', secrets)).toBe(`${'•'.repeat(11)}7518`);
  });
});

describe('the words in the pack', () => {
  const folder = mkdtempSync(join(tmpdir(), 'secrets-'));
  mkdirSync(join(folder, 'secrets'));
  const withFile = (name: string, text: string) => {
    writeFileSync(join(folder, 'secrets', name), text);
    const read = readSecretWords([packFolder, folder], null);
    rmSync(join(folder, 'secrets', name));
    return read;
  };
  it('are ten languages, and anybody can add to them', () => {
    expect([...secrets.keys()].sort()).toEqual(['de', 'en', 'es', 'fr', 'it', 'nl', 'pl', 'pt', 'sv', 'tr']);
    const { words, findings } = withFile('fi.yaml', 'names:\n  - { kind: passcode, words: tunnusluku }\n');
    expect(findings).toEqual([]);
    expect(findSecret('tunnusluku 4711')).toBeNull();
    expect(find('tunnusluku 4711', words)).toBe('passcode');
    const added = withFile('en.yaml', 'names:\n  - { kind: passcode, words: wibble }\n').words;
    expect(find('wibble 4711', added)).toBe('passcode');
    expect(find('passcode 4711', added)).toBe('passcode');
  });
  it.each([
    ['en.yaml', 'name: []', 'there is no field "name" here'],
    ['en.yaml', 'opens: [3]', 'opens'],
    ['english.yaml', 'opens: unlock', 'two letters'],
    ['en.yaml', 'opens: [', ''],
  ])('a mistake in %s is told of: %s', (name, text, told) => {
    const { findings } = withFile(name, text);
    expect(findings.map(({ problem }) => problem).join()).toContain(told);
    expect(findings.length).toBeGreaterThan(0);
  });
});

describe('the Luhn sum', () => {
  it('holds for the worked example of the method, and for no other last digit', () => {
    // 7992739871 with check digit 3: the usual worked example of the Luhn method (from memory).
    for (let digit = 0; digit < 10; digit += 1) expect(luhnHolds(`7992739871${digit}`)).toBe(digit === 3);
  });
  it('finds every single wrong digit of a card number', () => {
    const right = '4111111111111111';
    for (let at = 0; at < right.length; at += 1) {
      for (const digit of '0123456789') {
        const changed = right.slice(0, at) + digit + right.slice(at + 1);
        expect(luhnHolds(changed)).toBe(changed === right);
      }
    }
  });
});

describe('any text at all', () => {
  const pieces = fc.constantFrom(
    ...[
      'passcode',
      'PIN',
      'code',
      'de',
      'passe',
      'pattern',
      'is',
      ':',
      '=',
      '4711',
      '1',
      '12',
      '-',
      '.',
      ',',
      '"',
      'ß',
    ],
    ...[' ', '\n', '’', '€', '1111', 'mAh', '@', '/', '😀', '١', 'Tr0ub4dor', 'unknown', '\ud800'],
  );
  const texts = fc.oneof(
    fc.string({ maxLength: 200, unit: 'binary' }),
    fc.array(pieces, { maxLength: 60 }).map((parts) => parts.join('')),
    fc.array(pieces, { maxLength: 60 }).map((parts) => parts.join(' ')),
  );
  it('is read without a throw, and the same each time', () => {
    fc.assert(
      fc.property(texts, (text) => {
        expect(findSecret(text)).toBe(findSecret(text));
      }),
      { numRuns: 2000 },
    );
  });
  it('is refused when a passcode is put in front of it', () => {
    fc.assert(
      fc.property(texts, fc.integer({ min: 1000, max: 99_999_999 }), (text, code) => {
        expect(findSecret(`passcode ${code}; ${text}`)).not.toBeNull();
      }),
      { numRuns: 500 },
    );
  });
});
