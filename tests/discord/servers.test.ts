import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import { reply } from '../plain-reply.ts';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import { rights, snowflake } from './loopback/world.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
  // Its settings show everybody what sets up, so that the bot itself has to refuse.
  for (const name of ['setup', 'server']) on.loopback.world.shownToAll.add(`${on.server.id} ${name}`);
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});

/** Something that only a steward may do. */
const asSteward = (person: Stage['moss']) => person.use('setup', 'change', { region: 'AU' });
const isSteward = async (person: Stage['moss']): Promise<boolean> => {
  const seen = await asSteward(person);
  return !titleOf(seen.message).startsWith('✗') && !wordsOn(seen.message).includes('Only a steward');
};

describe('a steward', () => {
  it('is who may manage the server, whoever owns it, and who may do everything there', async () => {
    const { world } = on.loopback;
    const owner = on.loopback.person(world.user(on.server.owner), { channel: on.channel.id });
    const admin = world.addUser('sol', 'Sol');
    world.join(on.server, admin, [world.addRole(on.server, 'All', rights.administrator)]);
    expect(await isSteward(on.ines)).toBe(true);
    expect(await isSteward(owner)).toBe(true);
    expect(await isSteward(on.loopback.person(admin, { channel: on.channel.id }))).toBe(true);
    expect(await isSteward(on.moss)).toBe(false);
  });

  it('is who has the role that was chosen for it, until it is forgotten', async () => {
    const { world } = on.loopback;
    const leads = world.addRole(on.server, 'Bench leads');
    world.join(on.server, on.people.moss, [leads]);
    await on.restart();
    expect(await isSteward(on.moss)).toBe(false);
    const seen = await on.ines.use('server', 'roles', { steward: leads.id });
    expect(wordsOn(seen.message)).toContain('\\@Bench leads');
    expect(await isSteward(on.moss)).toBe(true);
    expect(await isSteward(on.wren)).toBe(false);
    await on.ines.use('server', 'roles', { nobody: 'yes' });
    expect(await isSteward(on.moss)).toBe(false);
  });

  it('is asked of the core: Discord letting somebody type a command is not enough', async () => {
    const leads = on.loopback.world.addRole(on.server, 'Bench leads');
    const refused = await on.moss.use('server', 'roles', { steward: leads.id });
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('/server roles is for stewards');
    expect(await isSteward(on.moss)).toBe(false);
  });
});

describe('what sets up', () => {
  it('is shown to those who may manage the server, and to others where its settings say so', async () => {
    const { shownToAll } = on.loopback.world;
    shownToAll.clear();
    for (const name of ['setup', 'server']) {
      expect(() => on.moss.start(name, name === 'setup' ? 'change' : 'show')).toThrow('not shown to Moss');
      expect((await on.ines.use(name, name === 'setup' ? 'change' : 'show')).message).not.toBeNull();
    }
    // In a direct message no server hides anything.
    await on.moss.use('job', 'list', {});
    expect(titleOf((await on.direct(on.people.moss).use('setup', 'change')).message)).toContain('Settings');
    const leads = on.loopback.world.addRole(on.server, 'Bench leads');
    await on.restart();
    const set = await on.ines.use('server', 'roles', { steward: leads.id });
    expect(wordsOn(set.message)).toContain('under Integrations');
    shownToAll.add(`${on.server.id} setup`);
    expect((await on.moss.use('setup', 'change')).message).not.toBeNull();
  });
});

describe('the channel of the weekly post', () => {
  it('is none of another server, no forum and no thread; what a thread belongs to is offered', async () => {
    const { world, gateway } = on.loopback;
    const forum = world.addForum(on.server, 'phones');
    const other = world.addServer('Loft', on.people.wren);
    const far = world.addChannel(other, 'bench');
    await on.restart();
    const refused = await on.ines.use('server', 'weekly', { channel: far.id });
    expect(titleOf(refused.message)).toContain('is in another server');
    const toForum = await on.ines.use('server', 'weekly', { channel: forum.id });
    expect(titleOf(toForum.message)).toContain('#phones');
    const thread = world.addThread(snowflake(), 'a phone', on.channel, on.people.moss.id);
    gateway.dispatch('THREAD_CREATE', world.channelJson(thread));
    await on.moss.use('job', 'list', {});
    const inThread = await on.loopback
      .person(on.people.ines, { channel: thread.id })
      .use('server', 'weekly', {});
    expect(titleOf(inThread.message)).toMatch(/^✗ The weekly post cannot go to/);
    const moved = await on.ines.press(notNull(inThread.message), '#workshop');
    expect(wordsOn(moved.message)).toContain('#workshop');
  });
});

describe('a member', () => {
  it('needs the role for it where one was chosen; others may look', async () => {
    const bench = on.loopback.world.addRole(on.server, 'Bench');
    on.loopback.world.join(on.server, on.people.moss, [bench]);
    await on.restart();
    await on.ines.use('server', 'roles', { member: bench.id });
    const open = { model: 'glued-front-home-sensor' };
    expect(titleOf((await on.moss.use('job', 'open', open)).message)).toContain('Job 1 is open');
    const refused = await on.wren.use('job', 'open', open);
    expect(refused.ephemeral).toBe(true);
    expect(titleOf(refused.message)).toMatch(/^✗ .*visitor/);
    expect(titleOf((await on.wren.use('caution', '', {})).message)).not.toMatch(/^✗/);
  });
});

describe('the commands of this surface alone', () => {
  it('stand in help, with their usage', async () => {
    const all = wordsOn((await on.moss.use('help', '', {})).message);
    expect(all).toContain('/server');
    expect(all).toContain('/home');
    const { message } = await on.moss.use('help', '', { about: 'server' });
    expect(wordsOn(message)).toContain('/server weekly');
    if (!message) throw new Error('no help');
    expect(wordsOn((await on.moss.press(message, 'More')).message)).toContain('off');
  });

  it('are held to their schemas and to where they may be said', async () => {
    const refused = await on.ines.use('server', 'roles', {});
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('No role is named.');
    await expect(on.direct(on.people.ines).use('server', 'show', {})).rejects.toThrow('not offered');
  });
});

describe('a server', () => {
  it('belongs to a collective of its own, and two of one name are told apart', async () => {
    const { world, gateway } = on.loopback;
    await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    const other = world.addServer('Tin Shed', on.people.wren);
    const room = world.addChannel(other, 'bench');
    gateway.dispatch('GUILD_CREATE', world.serverCreateJson(other));
    const wren = on.loopback.person(on.people.wren, { channel: room.id });
    const shown = await wren.use('server', 'show', {});
    expect(wordsOn(shown.message)).toContain('Tin Shed (2)');
    expect(wordsOn((await wren.use('job', 'list', {})).message)).not.toContain('home button with sensor');
    expect(wordsOn((await on.wren.use('server', 'show', {})).message)).toMatch(/Collective:\*\* Tin Shed\n/);
  });

  it('is spoken to in the language of its collective, in the surface’s own words too', async () => {
    for (const one of [on.ines, on.moss]) one.locale = 'de';
    await on.ines.use('setup', 'change', { language: 'de' });
    expect(titleOf((await on.moss.use('server', 'show', {})).message)).toBe('▸ Dieser Server');
    const opened = await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    expect(titleOf(opened.message)).toMatch(/^▸ Auftrag 1 ist offen/);
    const refused = await on.moss.use('server', 'weekly', {});
    expect(wordsOn(refused.message)).toContain('Erwartet: ');
    await on.ines.use('setup', 'change', { language: 'en' });
    expect(titleOf((await on.moss.use('server', 'show', {})).message)).toBe('▸ This server');
  });

  it('speaks to a person alone as their client does, and to all as the collective does', async () => {
    await on.ines.use('setup', 'change', { language: 'de' });
    // Moss reads English.
    const opened = await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    expect(titleOf(opened.message)).toMatch(/^▸ Auftrag 1 ist offen/);
    expect(titleOf((await on.moss.use('server', 'show', {})).message)).toBe('▸ Dieser Server');
    expect(wordsOn((await on.moss.use('server', 'weekly', {})).message)).toContain('Expected: ');
    expect(titleOf((await on.moss.use('help', '', {})).message)).toBe('▸ What you can say');
    on.moss.locale = 'de';
    expect(titleOf((await on.moss.use('help', '', {})).message)).toBe('▸ Was du sagen kannst');
    // And the other way round.
    await on.ines.use('setup', 'change', { language: 'en' });
    expect(titleOf((await on.moss.use('help', '', {})).message)).toBe('▸ Was du sagen kannst');
    expect(titleOf((await on.moss.use('job', 'show', { job: '1' })).message)).toMatch(/^▸ Job 1, /);
    const form = (await on.moss.use('job', 'open', {})).modal;
    expect(JSON.stringify(form)).toContain(render(say`How it came`, 'de'));
    // A language that the bot does not speak: the collective's.
    on.moss.locale = 'fr';
    expect(titleOf((await on.moss.use('help', '', {})).message)).toBe('▸ What you can say');
  });

  it('keeps its collective when it is renamed and when the bot is restarted', async () => {
    await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    on.server.name = 'The Loft';
    await on.restart();
    expect(wordsOn((await on.moss.use('job', 'list', {})).message)).toContain('home button with sensor');
    expect(on.database.collectives.list().map(({ name }) => name)).toEqual(['Tin Shed']);
  });

  it('joins the collective of another by a word from there, and is posted to by the one before no more', async () => {
    const { world, gateway } = on.loopback;
    await on.moss.use('job', 'open', { model: 'glued-front-home-sensor' });
    const other = world.addServer('Loft', on.people.wren);
    const room = world.addChannel(other, 'bench');
    gateway.dispatch('GUILD_CREATE', world.serverCreateJson(other));
    const wren = on.loopback.person(on.people.wren, { channel: room.id });
    await wren.use('server', 'weekly', {});
    expect(wordsOn((await wren.use('server', 'show', {})).message)).toContain('\\#bench');
    const [word] =
      /[A-Z0-9]{4}-[A-Z0-9]{4}-[A-Z0-9]{4}/.exec(
        wordsOn((await on.ines.use('setup', 'link', {})).message).replaceAll('\\', ''),
      ) ?? [];
    if (!word) throw new Error('no word');
    const joined = await wren.use('setup', 'link', { word });
    expect(titleOf(joined.message)).not.toMatch(/^✗/);
    const shown = wordsOn((await wren.use('server', 'show', {})).message);
    expect(shown).toMatch(/Collective:\*\* Tin Shed\n/);
    expect(shown).toContain('not in this server');
    expect(wordsOn((await wren.use('job', 'list', {})).message)).toContain('home button with sensor');
    // The collective that it left does not post there any more.
    const post = on.bot.posterFor(room.id).post('week', reply({ title: 'Week' }));
    await expect(post).rejects.toThrow('belongs to another collective now');
    expect(world.seenIn(room.id).map(titleOf)).not.toContain('▸ Week');
  });
});
