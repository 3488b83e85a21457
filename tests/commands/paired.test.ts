import { describe, expect, it } from 'vitest';
import { pairedDataSchema } from '../../commands/paired/paired-data.ts';
import { actor } from '../actors.ts';
import { knowledge, testBot, wordsOf } from '../test-bot.ts';

const family = 'gasketed-front-home-sensor';
function withModel() {
  const one = testBot();
  one.store.models.save({
    name: 'Orrin K3',
    family,
    launched: null,
    newPrice: null,
    by: actor('Ines'),
    at: one.now,
  });
  return one;
}
const setRegion = (one: ReturnType<typeof testBot>, region: string | null) =>
  one.store.saveSettings({ ...one.collective.settings, region });

describe('/paired for one component', () => {
  it('answers first, with what it loses, what mends it, and that it travels', () => {
    const reply = withModel().say('/paired "Orrin K3" component:fingerprint-sensor');
    expect(reply.title).toBe('Fingerprint sensor of Orrin K3: a swap loses a function');
    expect(reply.blocks[0]).toMatchObject({ text: expect.stringContaining('must travel with its board') });
    const data = pairedDataSchema.parse(reply.data);
    expect(data).toMatchObject({
      kind: 'component',
      effect: 'lost',
      travels: true,
      statements: expect.arrayContaining([expect.anything()]),
    });
    const words = wordsOf(reply);
    expect(words).toContain('The fingerprint and the home button');
    expect(words).toContain('Move the first sensor with its board');
    expect(words).toContain('torn ribbon'); // handling
    expect(words).toContain('loses the button as well as the fingerprint'); // lesson
    expect(words).toContain('common practice, no source');
  });

  it('draws first the cautions of the swap itself, and none of getting in', () => {
    const { cautions } = withModel().say('/paired "Orrin K3" component:battery');
    const swaps = [...knowledge().remedies.values()].filter(
      ({ parts }) => parts.length > 0 && parts.every(({ component }) => component === 'battery'),
    );
    const hazards = new Set(swaps.flatMap((remedy) => remedy.hazards));
    const fired = [...knowledge().cautions.values()].filter(({ firesOn }) =>
      firesOn.some((hazard) => hazards.has(hazard)),
    );
    expect(cautions.length).toBeGreaterThan(0);
    for (const { id } of cautions) expect(fired.map((one) => one.id)).toContain(id);
    expect(cautions[0]?.tone).toBe('danger');
    // Its handling tells nothing of glass or presses: what only opening the phone meets is not warned of here.
    expect(
      withModel()
        .say('/paired "Orrin K3" component:speaker')
        .cautions.map(({ id }) => id),
    ).not.toContain('pressing');
  });

  it('names ground and source of each statement', () => {
    const reply = withModel().say('/paired "Orrin K3" component:battery');
    const data = pairedDataSchema.parse(reply.data);
    if (data.kind !== 'component') throw new Error('not a component');
    const { sources } = knowledge();
    for (const { ground } of data.statements) {
      const title =
        typeof ground === 'string' ? 'common practice, no source' : sources.get(ground.source)?.title;
      expect(wordsOf(reply)).toContain(title);
      if (typeof ground !== 'string') expect(reply.sources.map(({ id }) => id)).toContain(ground.source);
    }
  });

  it('says only that no statement was found where there is none', () => {
    const reply = withModel().say('/paired "Orrin K3" component:speaker');
    expect(reply.title).toBe('Speaker of Orrin K3: No official statement of pairing found.');
    expect(pairedDataSchema.parse(reply.data)).toMatchObject({
      effect: null,
      travels: null,
      statements: [],
    });
  });

  it('never says "not paired", for any family and component', () => {
    const one = testBot();
    for (const { id, components } of knowledge().families.values()) {
      expect(wordsOf(one.say(`/paired ${id}`))).not.toMatch(/not paired|never paired|unpaired/i);
      for (const component of Object.keys(components)) {
        const reply = one.say(`/paired ${id} component:${component}`);
        expect(reply.outcome, `${id} ${component}`).toBe('answered');
        expect(wordsOf(reply)).not.toMatch(/not paired|never paired|unpaired/i);
      }
    }
    expect(one.faults).toEqual([]);
  });

  it('says for a mainboard what must go with it', () => {
    const reply = withModel().say('/paired "Orrin K3" component:mainboard');
    expect(reply.blocks[0]).toMatchObject({ text: 'Must go with it: fingerprint sensor.' });
    expect(wordsOf(reply)).toContain('IMEI');
  });

  it('shows a few lessons, and all of them with their sources when asked, or by the choice', () => {
    const one = withModel();
    const few = one.say('/paired "Orrin K3" component:mainboard');
    const data = pairedDataSchema.parse(few.data);
    if (data.kind !== 'component') throw new Error('not a component');
    expect(data.lessons.length).toBeGreaterThan(10);
    const shown = (words: string) =>
      knowledge()
        .lessons.filter(({ id }) => data.lessons.some((one) => one.id === id))
        .filter(({ says }) => words.includes(JSON.stringify(says).slice(1, -1)));
    expect(shown(JSON.stringify(few.blocks))).toHaveLength(3);
    expect(JSON.stringify(few.blocks)).toContain(`Worth knowing, 3 of ${data.lessons.length}`);
    const choice = few.choices.find(({ label }) => label === `All ${data.lessons.length} worth knowing`);
    if (choice?.token === undefined) throw new Error('no choice');
    for (const all of [
      one.say('/paired "Orrin K3" component:mainboard lessons:all'),
      one.say({ token: choice.token }),
    ]) {
      expect(shown(JSON.stringify(all.blocks))).toHaveLength(data.lessons.length);
      expect(all.choices.map(({ label }) => label)).toEqual(['All components of this family']);
      for (const { ground } of data.lessons)
        if (typeof ground !== 'string') expect(all.sources.map(({ id }) => id)).toContain(ground.source);
    }
  });

  it('refuses a component that the family does not have, with those it has', () => {
    const one = withModel();
    const before = one.dump();
    const reply = one.say('/paired "Orrin K3" component:hinge-assembly');
    expect(reply).toMatchObject({ outcome: 'refused', title: 'Orrin K3 has no hinge assembly.' });
    expect(wordsOf(reply)).toContain('display assembly');
    expect(one.dump()).toEqual(before);
  });

  it('refuses an unknown model with the nearest', () => {
    expect(wordsOf(withModel().say('/paired "Orin K3"'))).toContain('Did you mean Orrin K3');
  });
});

describe('/paired and the law', () => {
  it('gives the EU rule in a member state, and flags what is still to come', () => {
    const one = withModel();
    setRegion(one, 'DE');
    const words = wordsOf(one.say('/paired "Orrin K3" component:battery'));
    expect(words).toContain('2023/1670, Annex II Part B 1.1 (7)');
    expect(words).toContain('In force since 2025-06-20');
    expect(words).toContain('NOT YET IN FORCE: from 2027-02-18');
    const later = one.say('/paired "Orrin K3" component:battery', { now: new Date('2027-02-18T09:00:00Z') });
    expect(wordsOf(later)).toContain('In force since 2027-02-18');
  });

  it('names all law on repair there, and gives it in full when all is asked for', () => {
    const one = withModel();
    setRegion(one, 'US-CA');
    const table = one.say('/paired "Orrin K3"');
    expect(wordsOf(table)).toContain('California SB 244: Right to Repair Act. In force since 2024-07-01.');
    expect(wordsOf(table)).toContain('No law on pairing for US-CA is in this pack');
    expect(table.sources.map(({ id }) => id)).toContain('california-sb-244');
    const law = knowledge().laws.find(({ region }) => region.includes('US-CA'));
    const full = one.say('/paired "Orrin K3" component:battery lessons:all');
    const lines = full.blocks.flatMap((block) => (block.kind === 'steps' ? block.steps : []));
    for (const says of law?.says ?? ['no law']) {
      expect(lines.some((line) => line.includes(says))).toBe(true);
      expect(JSON.stringify(table.blocks)).not.toContain(JSON.stringify(says).slice(1, -1));
    }
    expect(full.sources.map(({ id }) => id)).toContain('california-sb-244');
    expect(wordsOf(one.say('/paired "Orrin K3" component:battery'))).not.toContain('California SB 244');
  });

  it('points to the setting while the place is not set', () => {
    const one = withModel();
    setRegion(one, null);
    expect(wordsOf(one.say('/paired "Orrin K3"'))).toContain('/setup region:');
  });

  it('does not say that there is no law where the pack has none', () => {
    const one = withModel();
    setRegion(one, 'JP');
    expect(wordsOf(one.say('/paired "Orrin K3" component:battery'))).toContain('no proof that there is none');
  });
});

describe('/paired for a whole family', () => {
  it('has one row for each component, what travels named in the title', () => {
    const reply = withModel().say('/paired "Orrin K3"');
    expect(reply.title).toContain('fingerprint sensor');
    const data = pairedDataSchema.parse(reply.data);
    if (data.kind !== 'table') throw new Error('not a table');
    const components = Object.keys(knowledge().families.get(family)?.components ?? {});
    expect(data.rows.map(({ component }) => component).sort()).toEqual(components.sort());
    const table = reply.blocks.find((block) => block.kind === 'table');
    expect(table?.rows).toHaveLength(components.length);
    expect(wordsOf(reply)).toContain('No official statement of pairing found.');
  });

  it('answers the same for the family by its id', () => {
    const data = pairedDataSchema.parse(testBot().say(`/paired ${family}`).data);
    expect(data.of).toMatchObject({ id: `family:${family}`, family });
  });
});
