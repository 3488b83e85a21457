import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkPlatforms } from '../../src/self-check.ts';
import { rightsIn } from '../../src/surfaces/discord/check.ts';
import { applicationOf, readDiscordSettings } from '../../src/surfaces/discord/settings.ts';
import { type Stage, stage } from './bot.ts';
import { rights } from './loopback/world.ts';

const ID = '1234567890123456789';
const tokenOf = (id: string) => `${Buffer.from(id).toString('base64url')}.abc.def`;

describe('settings', () => {
  it('are off without a token', () => {
    expect(readDiscordSettings({})).toBeNull();
    expect(readDiscordSettings({ DISCORD_TOKEN: '' })).toBeNull();
  });
  it('have the application’s id from the token', () => {
    expect(applicationOf(tokenOf(ID))).toBe(ID);
    expect(readDiscordSettings({ DISCORD_TOKEN: tokenOf(ID) })).toEqual({
      token: tokenOf(ID),
      application: ID,
    });
  });
  it.each([
    ['a token that cannot be one', { DISCORD_TOKEN: 'secret' }, /^DISCORD_TOKEN: expected three parts/],
    [
      'an id that cannot be one',
      { DISCORD_TOKEN: tokenOf(ID), DISCORD_APPLICATION_ID: '12' },
      /17 to 20 digits/,
    ],
    ['no id anywhere', { DISCORD_TOKEN: 'abc.def.ghi' }, /^DISCORD_APPLICATION_ID is missing/],
    [
      'two applications',
      { DISCORD_TOKEN: tokenOf(ID), DISCORD_APPLICATION_ID: '9999999999999999999' },
      /belongs to application 1234567890123456789/,
    ],
  ])('with %s are refused in one line, without the token', (_, environment, words) => {
    expect(() => readDiscordSettings(environment)).toThrow(words);
    try {
      readDiscordSettings(environment);
    } catch (error) {
      expect(String(error)).not.toContain(environment.DISCORD_TOKEN);
    }
  });
});

describe('what the bot may do in a channel', () => {
  const server = {
    id: '1',
    owner_id: '9',
    roles: [
      { id: '1', permissions: String(rights.view | rights.send) },
      { id: '2', permissions: String(rights.embed) },
    ],
  };
  const word = (id: string, type: number, allow: bigint, deny: bigint) => ({
    id,
    type,
    allow: String(allow),
    deny: String(deny),
  });
  // By the worked order of Discord's developer documentation, "Permission Overwrites": everyone, roles, the member.
  it.each([
    ['has all its roles together', [], rights.view | rights.send | rights.embed],
    ['loses what everyone is denied', [word('1', 0, 0n, rights.send)], rights.view | rights.embed],
    [
      'has back what its role is allowed',
      [word('1', 0, 0n, rights.send), word('2', 0, rights.send, 0n)],
      rights.view | rights.send | rights.embed,
    ],
    [
      'goes by its own word last',
      [word('2', 0, rights.attach, 0n), word('7', 1, rights.history, rights.attach)],
      rights.view | rights.send | rights.embed | rights.history,
    ],
    [
      'hears nothing that is for others',
      [word('3', 0, 0n, rights.send), word('8', 1, 0n, rights.view)],
      rights.view | rights.send | rights.embed,
    ],
  ])('%s', (_, overwrites, expected) => {
    expect(rightsIn('7', ['2'], server, overwrites)).toBe(expected);
  });
  it('is everything for an administrator', () => {
    const admin = { ...server, roles: [{ id: '1', permissions: String(rights.administrator) }] };
    expect(rightsIn('7', [], admin, [word('1', 0, 0n, rights.view)]) & rights.administrator).toBeTruthy();
  });
});

describe('--check', () => {
  let on: Stage;
  beforeEach(async () => {
    on = await stage();
  });
  afterEach(async () => {
    expect(await on.close()).toEqual([]);
  });
  const check = (environment: NodeJS.ProcessEnv = {}) =>
    checkPlatforms(on.database, {
      DISCORD_TOKEN: on.loopback.world.token,
      DISCORD_API: on.loopback.api,
      ...environment,
    });

  it('says that it is off without a token, and asks nobody', async () => {
    const before = on.loopback.log.length;
    const { sound, lines } = await check({ DISCORD_TOKEN: '' });
    expect(sound).toBe(true);
    expect(lines).toContain('Discord: off; DISCORD_TOKEN is not set.');
    expect(on.loopback.log).toHaveLength(before);
  });

  it('refuses a token that cannot be one without asking anybody', async () => {
    const before = on.loopback.log.length;
    await expect(check({ DISCORD_TOKEN: 'secret' })).rejects.toThrow('three parts');
    expect(on.loopback.log).toHaveLength(before);
  });

  it('finds all well, without a connection to the gateway', async () => {
    await on.ines.use('server', 'weekly', {});
    const identified = on.loopback.gateway.log.filter((one) => one === 'identify').length;
    const { sound, lines } = await check();
    expect(sound).toBe(true);
    expect(lines.join('\n')).toMatch(/knows the bot as Thirdhand/);
    expect(lines.join('\n')).toMatch(/all \d+ commands are registered/);
    expect(lines).toContain('Discord: the weekly post can be sent.');
    expect(on.loopback.gateway.log.filter((one) => one === 'identify')).toHaveLength(identified);
  });

  it('says that Discord does not accept the token', async () => {
    const { sound, lines } = await check({ DISCORD_TOKEN: `${on.loopback.world.token}x` });
    expect(sound).toBe(false);
    expect(lines.at(-1)).toMatch(/^DISCORD_TOKEN: Discord does not accept it/);
  });

  it('says which commands are not registered', async () => {
    on.loopback.world.commands.delete('global');
    const { lines } = await check();
    expect(lines.join('\n')).toMatch(
      /\d+ commands are not registered everywhere .* npm run discord:register/,
    );
  });

  it('says which rights are missing, and that a channel is gone', async () => {
    await on.ines.use('server', 'weekly', {});
    on.channel.denied = rights.attach;
    const missing = await check();
    expect(missing.sound).toBe(false);
    expect(missing.lines.at(-1)).toContain('In #workshop I am missing the right Attach Files.');
    on.loopback.world.channels.delete(on.channel.id);
    const gone = await check();
    expect(gone.sound).toBe(false);
    expect(gone.lines.at(-1)).toContain('is not there any more');
  });

  it('says that Discord cannot be asked', async () => {
    on.loopback.faults.push({ method: 'GET', path: /applications/, times: 5, do: 'cut before' });
    const { sound, lines } = await check();
    expect(sound).toBe(false);
    expect(lines.at(-1)).toContain('cannot be asked now');
    on.loopback.faults.length = 0;
  });
});
