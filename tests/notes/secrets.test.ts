import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadKnowledge } from '../../knowledge/load.ts';
import type { SecretKind } from '../../knowledge/secrets.ts';
import { luhnHolds } from '../../shared/notes/card-number.ts';
import { findSecret as find } from '../../shared/notes/secrets.ts';

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
