import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { REST } from 'discord.js';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { defineSimpleCommand } from '../../commands/framework/command.ts';
import { numberOption, optional, textOption } from '../../commands/framework/option.ts';
import { reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { render } from '../../shared/language/render.ts';
import { say, typed } from '../../shared/language/say.ts';
import { planLines, planRegistration, register } from '../../src/surfaces/discord/registering.ts';
import { registrations } from '../../src/surfaces/discord/registration.ts';
import { type Loopback, openLoopback } from './loopback/server.ts';
import type { Server } from './loopback/world.ts';

let loopback: Loopback;
let server: Server;
beforeEach(async () => {
  loopback = await openLoopback();
  server = loopback.world.addServer('Tin Shed', loopback.world.addUser('bram', 'Bram'));
});
afterEach(async () => {
  await loopback.close();
  expect(loopback.problems).toEqual([]);
});

const hello = (summary: string, most = 10) =>
  defineSimpleCommand({
    name: 'hello',
    summary: typed(summary),
    options: {
      who: optional(textOption({ summary: typed('Whom'), example: 'Moss' })),
      times: optional(numberOption({ summary: typed('How often'), example: '2', min: 1, max: most })),
    },
    examples: [],
    data: z.null(),
    run: () => reply({ title: typed('Hello') }),
  });
const parts = (given = commands, scope: string | null = null, translations = {}) => ({
  rest: new REST({ api: loopback.api }).setToken(loopback.world.token),
  application: loopback.world.application,
  commands: given,
  server: scope,
  translations,
});
const registered = (scope = 'global') =>
  [...(loopback.world.commands.get(scope)?.values() ?? [])].map(({ name }) => String(name)).sort();
const changing = () => loopback.log.filter(({ method }) => method !== 'GET');

describe('registering', () => {
  it('sends every command the first time and nothing the second', async () => {
    const first = await register(parts());
    expect(first.changes.every(({ kind }) => kind === 'new')).toBe(true);
    expect(registered()).toEqual(
      registrations(commands)
        .map(({ name }) => name)
        .sort(),
    );
    const sent = changing().length;
    const again = await register(parts());
    expect(again.changes).toEqual([]);
    expect(changing()).toHaveLength(sent);
    expect(planLines(again)).toEqual([`${sent} as they are`]);
  });

  it('sends only what differs, and says what that is', async () => {
    await register(parts([...commands, hello('Greet')]));
    const before = changing().length;
    const plan = await register(parts([...commands, hello('Greet somebody', 20)]));
    expect(
      changing()
        .slice(before)
        .map(({ body }) => body),
    ).toMatchObject([{ name: 'hello' }]);
    expect(planLines(plan)).toEqual([
      '~ /hello',
      '    ~ description or places',
      '    ~ times',
      `1 to change, ${registrations(commands).length} as they are`,
    ]);
  });

  it('says which command Discord refused', async () => {
    loopback.faults.push({ method: 'POST', path: /commands$/, do: { status: 400 } });
    await expect(register(parts())).rejects.toThrow(/^\/[a-z]+: /);
  });

  it('takes away what is not offered any more', async () => {
    await register(parts([...commands, hello('Greet')]));
    const plan = await register(parts());
    expect(planLines(plan)[0]).toBe('- /hello');
    expect(registered()).not.toContain('hello');
  });

  it('to one server leaves what is everywhere alone', async () => {
    await register(parts());
    const everywhere = registered();
    await register(parts([hello('Greet')], server.id));
    expect(registered(server.id)).toContain('hello');
    expect(registered()).toEqual(everywhere);
    expect((await register(parts([hello('Greet')], server.id))).changes).toEqual([]);
  });

  it('plans without changing anything', async () => {
    const plan = await planRegistration(parts());
    expect(plan.changes.length).toBeGreaterThan(5);
    expect(changing()).toEqual([]);
  });

  it('carries words in other languages, and notices when they change', async () => {
    const german = {
      worth: { de: { name: 'wert', description: 'Was es wert ist' } },
      'worth price': { de: { name: 'preis' } },
    };
    await register(parts(commands, null, german));
    const worth = [...(loopback.world.commands.get('global')?.values() ?? [])].find(
      ({ name }) => name === 'worth',
    );
    expect(worth).toMatchObject({
      name_localizations: { de: 'wert' },
      description_localizations: { de: 'Was es wert ist' },
    });
    expect(JSON.stringify(worth?.options)).toContain('"name_localizations":{"de":"preis"}');
    // What is not given is as the catalogue of the language has it.
    expect(JSON.stringify(worth?.options)).toContain(
      JSON.stringify({ de: render(say`Price asked; nothing if it is a gift`, 'de') }),
    );
    expect((await register(parts(commands, null, german))).changes).toEqual([]);
    const plan = await register(parts());
    expect(plan.changes.map(({ name }) => name)).toEqual(['/worth']);
  });
});

describe('what is registered', () => {
  const all = registrations(commands);
  const named = (name: string) => all.find((one) => one.name === name);

  it('has the private commands in direct messages alone, and as a person’s own installation', () => {
    for (const name of ['note', 'mydata'])
      expect(named(name)).toMatchObject({ contexts: [1], integration_types: [0, 1] });
  });
  it('has everything else in servers, installed by the server', () => {
    for (const { name, contexts, integration_types } of all.filter(
      (one) => !['note', 'mydata', 'home'].includes(one.name),
    )) {
      expect([name, contexts]).toEqual([name, expect.arrayContaining([0])]);
      expect([name, integration_types]).toEqual([name, [0]]);
    }
  });
  it('has what sets up for those who may manage the server', () => {
    const asked = all.filter((one) => one.default_member_permissions !== undefined);
    expect(asked.map(({ name }) => name).sort()).toEqual(['server', 'setup']);
    // "Permissions": MANAGE_GUILD is bit 5.
    for (const one of asked) expect(one.default_member_permissions).toBe(32);
  });
  it('has a description in each language, within the limits', () => {
    for (const one of all.filter(({ type }) => type === 1)) {
      const parts = [one, ...(one.options ?? []).flatMap((option) => [option, ...(option.options ?? [])])];
      for (const { name, description = '', description_localizations: others } of parts) {
        expect([name, Object.keys(others ?? {})]).toEqual([name, ['de']]);
        expect(description.length).toBeLessThanOrEqual(100);
        expect(others?.de?.length).toBeLessThanOrEqual(100);
      }
    }
  });
  it('has types, ranges, choices, attachments and completion from the schemas', () => {
    const optionsOf = (command: string, action: string) => {
      const options = named(command)?.options ?? [];
      return action ? (options.find(({ name }) => name === action)?.options ?? []) : options;
    };
    const option = (command: string, action: string, name: string) =>
      optionsOf(command, action).find((one) => one.name === name);
    expect(option('worth', '', 'model')).toMatchObject({ type: 3, autocomplete: true });
    // A form asks for it where it is left out.
    expect(option('prices', 'import', 'file')).toMatchObject({ type: 11 });
    expect(option('prices', 'import', 'file')).not.toHaveProperty('required');
    expect(option('job', 'open', 'came')?.choices?.map(({ value }) => value)).toContain('given');
    const numbers = all
      .flatMap(({ options = [] }) => options.flatMap((one) => [one, ...(one.options ?? [])]))
      .filter(({ type }) => type === 4 || type === 10);
    expect(numbers.length).toBeGreaterThan(0);
    for (const { min_value, max_value } of numbers) {
      expect(min_value).toBeTypeOf('number');
      expect(max_value).toBeTypeOf('number');
    }
  });
  it('has an entry in the menu of a message', () => {
    expect(named('Add to job log')).toMatchObject({ type: 3, contexts: [0] });
  });
});

describe('npm run discord:register', () => {
  const run = (args: readonly string[], environment: Record<string, string> = {}) =>
    new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
      const child = spawn(
        process.execPath,
        [join(fileURLToPath(import.meta.url), '../../../src/surfaces/discord/register.ts'), ...args],
        {
          env: {
            ...process.env,
            DISCORD_TOKEN: loopback.world.token,
            DISCORD_API: loopback.api,
            ...environment,
          },
        },
      );
      let out = '';
      let err = '';
      child.stdout.on('data', (chunk: Buffer) => {
        out += chunk.toString();
      });
      child.stderr.on('data', (chunk: Buffer) => {
        err += chunk.toString();
      });
      child.once('close', (code) => resolve({ code, out, err }));
    });

  it('prints the difference; with --dry-run it sends nothing', async () => {
    const dry = await run(['--dry-run']);
    expect(dry).toMatchObject({ code: 0, err: '' });
    expect(dry.out).toMatch(/^\+ \/help$/m);
    expect(dry.out).toMatch(/Nothing was sent\.\n$/);
    expect(changing()).toEqual([]);
    const real = await run(['--server', server.id]);
    expect(real.code).toBe(0);
    expect(registered(server.id)).toContain('worth');
    expect(registered()).toEqual([]);
  }, 120_000);

  it('says in one line what is wrong', async () => {
    const noToken = await run([], { DISCORD_TOKEN: '' });
    expect(noToken).toMatchObject({ code: 1, err: 'discord:register: DISCORD_TOKEN is not set.\n' });
    const bad = await run([], { DISCORD_TOKEN: `${loopback.world.token}x` });
    expect(bad).toMatchObject({
      code: 1,
      err: 'discord:register: DISCORD_TOKEN: Discord does not accept it.\n',
    });
    const wrong = await run(['--server', 'here']);
    expect(wrong.err).toContain('expected the id of a server');
  }, 120_000);
});
