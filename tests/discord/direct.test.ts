import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Stage, stage, titleOf, until, wordsOn } from './bot.ts';
import type { Channel, Server } from './loopback/world.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

/** Another server with the bot in it, and a channel. */
function another(name: string): { server: Server; channel: Channel } {
  const { world, gateway } = on.loopback;
  const server = world.addServer(name, world.addUser('sol', 'Sol'));
  const channel = world.addChannel(server, 'bench');
  gateway.dispatch('GUILD_CREATE', world.serverCreateJson(server));
  return { server, channel };
}

describe('a direct message', () => {
  it('goes to the collective of the server that somebody has spoken in', async () => {
    await on.moss.use('trace', 'list', {});
    const seen = await on.direct(on.people.moss).use('setup', 'change', {});
    expect(titleOf(seen.message)).toBe('▸ Settings of Tin Shed');
    expect(seen.ephemeral).toBe(false);
  });

  it('goes to the one server that they share with the bot, when they have not spoken yet', async () => {
    await on.ines.use('trace', 'list', {});
    const seen = await on.direct(on.people.moss).use('setup', 'change', {});
    expect(titleOf(seen.message)).toBe('▸ Settings of Tin Shed');
  });

  it('of somebody who is in no server of the bot is answered with what to do', async () => {
    await on.ines.use('trace', 'list', {});
    const stranger = on.loopback.world.addUser('nobody', 'Nobody');
    const seen = await on.direct(stranger).use('help', '', {});
    expect(wordsOn(seen.message)).toContain('I do not know you from any collective yet');
  });

  it('of somebody in two collectives asks once, and remembers over a restart', async () => {
    const loft = another('Loft');
    on.loopback.world.join(loft.server, on.people.wren);
    await on.wren.use('trace', 'list', {});
    await on.loopback.person(on.people.wren, { channel: loft.channel.id }).use('trace', 'list', {});
    const wren = on.direct(on.people.wren);
    const asked = await wren.use('setup', 'change', {});
    if (!asked.message) throw new Error('no message');
    expect(titleOf(asked.message)).toContain('Which collective is this about?');
    expect(wren.labels(asked.message)).toEqual(['Tin Shed', 'Loft']);
    const chosen = await wren.press(asked.message, 'Loft');
    expect(chosen.inPlace).toBe(true);
    expect(titleOf(chosen.message)).toContain('go to Loft now');
    await on.restart();
    expect(titleOf((await wren.use('setup', 'change', {})).message)).toBe('▸ Settings of Loft');
    const refused = await wren.use('home', '', { collective: 'Attic' });
    expect(wordsOn(refused.message)).toContain('you are in no collective called "Attic"');
    const again = await wren.use('home', '', {});
    if (!again.message) throw new Error('no message');
    await wren.press(again.message, 'Tin Shed');
    expect(titleOf((await wren.use('setup', 'change', {})).message)).toBe('▸ Settings of Tin Shed');
  });

  it('of somebody who has spoken in none of their two is asked again until they choose', async () => {
    const loft = another('Loft');
    on.loopback.world.join(loft.server, on.people.wren);
    await on.moss.use('trace', 'list', {});
    const sol = on.loopback.world.user(loft.server.owner);
    await on.loopback.person(sol, { channel: loft.channel.id }).use('trace', 'list', {});
    const wren = on.direct(on.people.wren);
    for (let times = 0; times < 2; times += 1) {
      const asked = await wren.use('setup', 'change', {});
      expect(titleOf(asked.message)).toContain('Which collective is this about?');
    }
    const chosen = await wren.use('home', '', { collective: 'Loft' });
    expect(titleOf(chosen.message)).toContain('go to Loft now');
    expect(titleOf((await wren.use('setup', 'change', {})).message)).toBe('▸ Settings of Loft');
  });

  it('shows nothing of a collective to somebody who has left it', async () => {
    await on.wren.use('trace', 'list', {});
    const wren = on.direct(on.people.wren);
    expect(titleOf((await wren.use('setup', 'change', {})).message)).toContain('Tin Shed');
    on.server.members = on.server.members.filter(({ user }) => user !== on.people.wren.id);
    on.now.at = new Date(on.now.at.getTime() + 61_000);
    const seen = await wren.use('setup', 'change', {});
    expect(wordsOn(seen.message)).toContain('I do not know you from any collective yet');
  });

  it('does not let somebody choose a collective that they are not in', async () => {
    const loft = another('Loft');
    on.loopback.world.join(loft.server, on.people.wren);
    await on.wren.use('trace', 'list', {});
    await on.loopback.person(on.people.wren, { channel: loft.channel.id }).use('trace', 'list', {});
    const wren = on.direct(on.people.wren);
    const asked = await wren.use('setup', 'change', {});
    if (!asked.message) throw new Error('no message');
    loft.server.members = loft.server.members.filter(({ user }) => user !== on.people.wren.id);
    on.now.at = new Date(on.now.at.getTime() + 61_000);
    const refused = await wren.press(asked.message, 'Loft');
    expect(wordsOn(refused.message)).not.toContain('go to Loft now');
    expect(on.database.channelBindings.homeOf(`discord:${on.people.wren.id}`)).toBeNull();
  });

  it('shows nothing while Discord does not say who is a member', async () => {
    await on.moss.use('trace', 'list', {});
    on.loopback.faults.push({
      method: 'GET',
      path: /^\/guilds\/\d+\/members\//,
      times: 10,
      do: { status: 500 },
    });
    const seen = await on.direct(on.people.moss).use('setup', 'change', {});
    expect(wordsOn(seen.message)).toContain('does not tell me just now');
    on.loopback.faults.length = 0;
  });

  it('knows a steward by their rights in the server', async () => {
    await on.ines.use('trace', 'list', {});
    const settled = await on.direct(on.people.ines).use('setup', 'change', { region: 'AU' });
    expect(titleOf(settled.message)).toContain('Changed: region');
    const refused = await on.direct(on.people.moss).use('setup', 'change', { region: 'NZ' });
    expect(wordsOn(refused.message)).toContain('Only a steward changes region');
  });
});

describe('who is in one collective alone', () => {
  it('is told where their direct messages go, and asked nothing', async () => {
    await on.moss.use('trace', 'list', {});
    const seen = await on.direct(on.people.moss).use('home', '', {});
    expect(titleOf(seen.message)).toContain('Your direct messages go to Tin Shed');
    expect(on.moss.labels(seen.message ?? fail())).toEqual([]);
  });
  it('reads no further once they have left', async () => {
    await on.moss.use('trace', 'list', {});
    const moss = on.direct(on.people.moss);
    expect(titleOf((await moss.use('job', 'list', {})).message)).not.toMatch(/^✗/);
    on.server.members = on.server.members.filter(({ user }) => user !== on.people.moss.id);
    on.now.at = new Date(on.now.at.getTime() + 4000);
    expect(titleOf((await moss.use('job', 'list', {})).message)).toMatch(/^✗/);
  });
});
const fail = (): never => {
  throw new Error('no message');
};

describe('a person’s own installation', () => {
  it('serves their notes in direct messages', async () => {
    await on.moss.use('trace', 'list', {});
    on.loopback.interactions.ownInstallation = true;
    const moss = on.direct(on.people.moss);
    expect(titleOf((await moss.use('note', 'add', { text: 'glass ordered' })).message)).toContain(
      'Note 1 is kept',
    );
    expect(wordsOn((await moss.use('mydata', 'export', {})).message)).not.toBe('');
  });

  it('does not bring a server into the bot that has not installed it', async () => {
    on.loopback.interactions.ownInstallation = true;
    const seen = await on.moss.use('trace', 'list', {});
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toContain('I am not installed in this server.');
    expect(on.database.collectives.list()).toEqual([]);
  });
});

describe('a private note', () => {
  it('is taken in a direct message only', async () => {
    await on.moss.use('trace', 'list', {});
    await expect(on.moss.use('note', 'add', { text: 'back glass order placed' })).rejects.toThrow(
      'not offered',
    );
    const moss = on.direct(on.people.moss);
    const seen = await moss.use('note', 'add', { text: 'back glass order placed' });
    expect(titleOf(seen.message)).toContain('Note 1 is kept');
    expect(wordsOn((await moss.use('note', 'list', {})).message)).toContain('back glass order placed');
  });

  it('can be written into a form, on several lines', async () => {
    await on.moss.use('trace', 'list', {});
    const moss = on.direct(on.people.moss);
    const { modal } = await moss.use('note', 'add', {});
    if (!modal) throw new Error('no form');
    expect(modal).toMatchObject({ title: '/note add', custom_id: 'f|note|add' });
    const seen = await moss.submit(modal, { Text: 'back glass\norder placed' });
    expect(titleOf(seen.message)).toContain('Note 1 is kept');
    expect(wordsOn((await moss.use('note', 'list', {})).message)).toContain('back glass order placed');
  });

  it('is in full over several messages when there are many: its pages are kept nowhere', async () => {
    await on.moss.use('trace', 'list', {});
    const moss = on.direct(on.people.moss);
    for (let i = 0; i < 8; i += 1)
      await moss.use('note', 'add', { text: `${'long words '.repeat(100)}${i}` });
    const seen = await moss.use('note', 'list', {});
    // 8 notes of some 1,200 characters, and three of them on a page: three messages.
    await until(() => seen.followUps.length === 2, 'all pages');
    const all = [seen.message, ...seen.followUps].map(wordsOn).join('\n');
    for (let i = 0; i < 8; i += 1) expect(all).toContain(`long words ${i}`);
    for (const message of [seen.message, ...seen.followUps])
      expect(message ? moss.labels(message) : null).toEqual([]);
  });

  it('comes with the rest of what is held of somebody, as files', async () => {
    await on.moss.use('trace', 'list', {});
    const moss = on.direct(on.people.moss);
    await moss.use('note', 'add', { text: 'back glass order placed' });
    const seen = await moss.use('mydata', 'export', {});
    expect(seen.message?.attachments.map(({ filename }) => filename)).toContainEqual(
      expect.stringMatching(/\.json$/),
    );
    expect(seen.message?.attachments.map(({ bytes }) => bytes.toString()).join()).toContain('back glass');
  });
});

describe('a form for intake', () => {
  it('asks for what is needed, and opens the job', async () => {
    await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
    const { modal } = await on.moss.use('job', 'open', {});
    if (!modal) throw new Error('no form');
    const seen = await on.moss.submit(modal, { Model: 'Orrin K3', Came: 'given', Symptoms: 'dead' });
    expect(titleOf(seen.message)).toContain('Job 1 is open: Orrin K3');
    expect(seen.ephemeral).toBe(false);
  });

  it('keeps what was typed already', async () => {
    const { modal } = await on.moss.use('job', 'open', { price: '60', came: 'bought' });
    expect(JSON.stringify(modal)).toContain('"value":"60"');
    expect(JSON.stringify(modal)).toContain('"label":"bought","value":"bought","default":true');
  });

  it('does not open when the model is there', async () => {
    const seen = await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    expect(seen.modal).toBeNull();
    expect(titleOf(seen.message)).toContain('Job 1 is open');
  });

  it('that is filled in wrongly is refused like the command', async () => {
    const { modal } = await on.moss.use('job', 'open', {});
    if (!modal) throw new Error('no form');
    const seen = await on.moss.submit(modal, { Price: 'lots', Came: 'bought' });
    expect(seen.ephemeral).toBe(true);
    expect(wordsOn(seen.message)).toContain('price');
  });
});

describe('a message in the channel', () => {
  it('becomes an entry in the log of a job', async () => {
    await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    await on.moss.use('job', 'open', { model: 'glued-back-under-display' });
    const said = { content: 'port cleaned,\nlint out', author: on.people.wren };
    const { modal } = await on.moss.menu('Add to job log', said);
    if (!modal) throw new Error('no form');
    expect(JSON.stringify(modal)).toContain('port cleaned, lint out');
    const labels = JSON.stringify(modal);
    expect(labels).toContain('"value":"2"');
    const job = /"label":"(2 [^"]+)"/.exec(labels)?.[1] ?? '';
    const seen = await on.moss.submit(modal, { Job: job });
    expect(titleOf(seen.message)).toMatch(/Job 2/);
    expect(wordsOn((await on.moss.use('job', 'show', { job: '2' })).message)).toContain(
      'port cleaned, lint out',
    );
  });

  it('can be turned into one when no job is open, and then it is told so', async () => {
    const { modal } = await on.moss.menu('Add to job log', {
      content: 'x'.repeat(1900),
      author: on.people.wren,
    });
    if (!modal) throw new Error('no form');
    const seen = await on.moss.submit(modal, { Job: '7' });
    expect(seen.ephemeral).toBe(true);
    expect(titleOf(seen.message)).toMatch(/^✗ /);
  });
});
