import { describe, expect, it } from 'vitest';
import { backoffMs, networkErrorOf } from '../../src/surfaces/matrix/network-error.ts';

const limited = { errcode: 'M_LIMIT_EXCEEDED', statusCode: 429, error: 'Too Many Requests' };

describe('what went wrong', () => {
  it('is patience, for as long as the homeserver says', () => {
    expect(networkErrorOf({ ...limited, retryAfterMs: 1500 })).toEqual({ kind: 'limited', waitMs: 1500 });
    expect(networkErrorOf(limited)).toEqual({ kind: 'limited', waitMs: 2000 });
    expect(networkErrorOf({ statusCode: 429, headers: { 'retry-after': '7' } })).toEqual({
      kind: 'limited',
      waitMs: 7000,
    });
    expect(networkErrorOf({ ...limited, retryAfterMs: 0 })).toEqual({ kind: 'limited', waitMs: 50 });
    expect(networkErrorOf({ ...limited, retryAfterMs: 1e9 })).toEqual({ kind: 'limited', waitMs: 300_000 });
  });

  it('is a homeserver that is away', () => {
    for (const code of [
      'ECONNREFUSED',
      'ECONNRESET',
      'ETIMEDOUT',
      'ESOCKETTIMEDOUT',
      'ENOTFOUND',
      'EAI_AGAIN',
    ])
      expect(networkErrorOf(Object.assign(new Error('connect'), { code }))).toEqual({
        kind: 'away',
        what: code,
      });
    expect(networkErrorOf({ statusCode: 502, body: '<html>' })).toEqual({
      kind: 'away',
      what: 'it answers 502',
    });
    expect(networkErrorOf({ errcode: 'M_UNKNOWN', statusCode: 500 }).kind).toBe('away');
  });

  it('is the token', () => {
    for (const errcode of ['M_UNKNOWN_TOKEN', 'M_MISSING_TOKEN', 'M_USER_DEACTIVATED'])
      expect(networkErrorOf({ errcode, statusCode: 401 })).toEqual({ kind: 'token' });
  });

  it('is a refusal, which is not tried again', () => {
    expect(networkErrorOf({ errcode: 'M_FORBIDDEN', statusCode: 403, error: 'no' })).toEqual({
      kind: 'refused',
      code: 'M_FORBIDDEN',
      what: 'no',
    });
    expect(networkErrorOf({ statusCode: 404 })).toMatchObject({ kind: 'refused', code: '404' });
  });

  it('is our own, where nothing speaks for the homeserver', () => {
    for (const error of [
      new TypeError('x'),
      'text',
      null,
      undefined,
      Object.assign(new Error('x'), { code: 'ERR_INVALID_URL' }),
      Object.assign(new Error('x'), { code: 'SQLITE_FULL' }),
      Object.assign(new Error('x'), { code: 'ENOSPC' }),
    ])
      expect(networkErrorOf(error)).toEqual({ kind: 'ours' });
  });

  it('is waited out: a second, doubled up to half a minute', () => {
    expect([1, 2, 3, 5, 6, 50].map(backoffMs)).toEqual([1000, 2000, 4000, 16_000, 30_000, 30_000]);
  });
});
