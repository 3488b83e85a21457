import { beforeEach, describe, expect, it } from 'vitest';
import { familyForgetData } from '../../commands/family/forget.ts';
import { family } from '../../commands/family/index.ts';
import { familyListData } from '../../commands/family/list.ts';
import { familyNameData } from '../../commands/family/name.ts';
import { familyShowData } from '../../commands/family/show.ts';
import { prices } from '../../commands/prices/index.ts';
import { actor } from '../actors.ts';
import { knowledge, refusalOf, type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot({ commands: [family, prices] });
});
const AS = 'as:glued-front-home-sensor';

describe('/family', () => {
  it('lists every family of the pack with the models named as it', () => {
    tin.say(`/family name "Orrin K3" ${AS}`);
    const { families } = familyListData.parse(tin.say('/family').data);
    expect(families.map(({ id }) => id)).toEqual([...knowledge().families.keys()]);
    expect(families.find(({ id }) => id === 'glued-front-home-sensor')?.models).toEqual(['Orrin K3']);
  });

  it('shows one, by its own name or a model, with the caution of opening it first', () => {
    tin.say(`/family name "Orrin K3" ${AS}`, { as: 'Sol' });
    const shown = tin.say('/family show Orrin K3');
    const data = familyShowData.parse(shown.data);
    const family = knowledge().families.get('glued-front-home-sensor');
    expect(data).toMatchObject({ id: family?.id, models: [{ name: 'Orrin K3', by: 'Sol' }] });
    // Each component is counted once, under its effect or as having no statement.
    const counted = Object.values(data.pairing).reduce((sum, count) => sum + count, 0);
    expect(counted).toBe(Object.keys(family?.components ?? {}).length);
    expect(data.pairing.none).toBeGreaterThan(0);
    expect(JSON.stringify(shown.blocks)).toContain('without an official statement that was found');
    const firing = [...knowledge().cautions.values()].filter(({ firesOn }) =>
      firesOn.some((hazard) => family?.open.hazards.includes(hazard)),
    );
    expect(firing.length).toBeGreaterThan(0);
    expect(shown.cautions.map(({ id }) => id)).toEqual(expect.arrayContaining(firing.map(({ id }) => id)));
    expect(familyShowData.parse(tin.say('/family show glued-front-home-sensor').data)).toEqual(data);
  });
});

describe('/family name', () => {
  it('names a model', () => {
    const named = tin.say(`/family name "Orrin K3" ${AS} launched:2017-09 new-price:649`);
    expect(familyNameData.parse(named.data)).toEqual({
      saved: {
        name: 'Orrin K3',
        family: 'glued-front-home-sensor',
        launched: '2017-09-01',
        newPrice: { amount: '649.00', currency: 'AUD' },
        by: 'Ines',
      },
      before: null,
    });
  });

  it('changes one, keeps what is not said again, and says what changed', () => {
    tin.say(`/family name "Orrin K3" ${AS} launched:2017-09 new-price:649`);
    const changed = tin.say('/family name "orrin k3" as:glued-front-face-unit', { as: 'Sol' });
    const words = JSON.stringify(changed.blocks);
    expect(words).toContain(`(was: ${knowledge().families.get('glued-front-home-sensor')?.name})`);
    expect(words).toContain('(was: Orrin K3)');
    expect(familyNameData.parse(changed.data).saved).toMatchObject({
      family: 'glued-front-face-unit',
      launched: '2017-09-01',
      newPrice: { amount: '649.00', currency: 'AUD' },
    });
    expect(tin.say('/family name "orrin k3" as:glued-front-face-unit').title).toBe('orrin k3 was so already');
    expect(tin.store.models.list()).toHaveLength(1);
  });

  it('says which open traces keep the family they began with', () => {
    tin.say(`/family name "Orrin K3" ${AS}`);
    const [model] = tin.store.models.list();
    const { store, now } = tin;
    store.traces.start({
      family: 'glued-front-home-sensor',
      model: model?.id ?? 0,
      symptoms: [],
      startedBy: actor('Ines'),
      at: now,
    });
    expect(JSON.stringify(tin.say('/family name "Orrin K3" as:glued-front-face-unit').blocks)).toContain(
      'keep the family they began with: #1',
    );
  });

  it.each([
    [`/family name glued-front-home-sensor ${AS}`, 'is the name of a family'],
    [`/family name "Glued Front_Home Sensor" ${AS}`, 'is the name of a family'],
    [`/family name "Orrin\u0000K3" ${AS}`, 'control character'],
    [`/family name "Orrin\u200bK3" ${AS}`, 'hidden character'],
    [`/family name 33 ${AS}`, 'could not be told apart'],
    [`/family name "model:3" ${AS}`, 'could not be told apart'],
    [`/family name ${'x'.repeat(61)} ${AS}`, '61 characters are too many'],
    ['/family name "Orrin K3"', 'as is missing'],
    ['/family name "Orrin K3" as:glued-frunt', 'no family is called "glued-frunt"'],
    [`/family name "Orrin K3" ${AS} launched:2026-04`, 'is in the future'],
    [`/family name "Orrin K3" ${AS} launched:soon`, '"soon" is not a date'],
    [`/family name "Orrin K3" ${AS} new-price:0`, 'A price of nothing'],
    [`/family name "Orrin K3" ${AS} new-price:-1`, 'negative'],
  ])('refuses %s', (line, says) => {
    const before = tin.dump();
    const refused = tin.say(line);
    expect(refused.outcome).toBe('refused');
    expect(refused.title).toContain(says);
    expect(tin.dump()).toEqual(before);
  });

  it('is for members', () => {
    expect(tin.say(`/family name "Orrin K3" ${AS}`, { role: 'visitor' }).outcome).toBe('refused');
  });
});

describe('/family forget', () => {
  it('forgets a model without prices', () => {
    tin.say(`/family name "Orrin K3" ${AS}`);
    expect(familyForgetData.parse(tin.say('/family forget "Orrin K3"').data).prices).toBe(0);
    expect(tin.store.models.list()).toEqual([]);
  });

  it('takes prices away with it only when a steward says so', () => {
    tin.say(`/family name "Orrin K3" ${AS}`);
    tin.say('/prices add "Orrin K3" price:100');
    const before = tin.dump();
    for (const role of ['visitor', 'member'] as const)
      expect(tin.say('/family forget "Orrin K3" prices:remove', { role }).outcome).toBe('refused');
    expect(tin.say('/family forget "Orrin K3"', { role: 'steward' }).title).toBe('Orrin K3 has 1 price.');
    expect(tin.dump()).toEqual(before);
    const gone = tin.say('/family forget "Orrin K3" prices:remove', { role: 'steward' });
    expect(familyForgetData.parse(gone.data).prices).toBe(1);
    expect(tin.store.sightings.count()).toBe(0);
  });
});

describe('who may change what is known of a model', () => {
  const shown = (bot: TestBot) => wordsOf(bot.say('/family show "Orrin K3"'));
  it('keeps what it was, shows it, and a steward takes the change back', () => {
    const bot = testBot();
    bot.say('/family name "Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:649');
    expect(shown(bot)).not.toContain('before it was changed');
    bot.say('/family name "Orrin K3" as:fold-book launched:2023-01 new-price:1', { as: 'Wren' });
    expect(shown(bot)).toContain('before it was changed');
    expect(shown(bot)).toContain('2017-09-01');
    expect(refusalOf(bot.say('/family restore "Orrin K3"'))).toMatchObject({ code: 'not-allowed' });
    const back = familyNameData.parse(bot.say('/family restore "Orrin K3"', { role: 'steward' }).data);
    expect(back.saved).toMatchObject({ family: 'glued-front-home-sensor', launched: '2017-09-01' });
    expect(back.before).toMatchObject({ family: 'fold-book', by: 'Wren' });
    // That is a change too, and what Wren said is kept.
    const [model] = bot.store.models.list();
    expect(bot.store.models.versions(model?.id ?? 0).map(({ seq, family }) => [seq, family])).toEqual([
      [2, 'fold-book'],
      [1, 'glued-front-home-sensor'],
    ]);
    expect(refusalOf(bot.say('/family restore "Orrin K3" version:7', { role: 'steward' }))).toMatchObject({
      code: 'not-found',
    });
    bot.say('/family restore "Orrin K3" version:2', { role: 'steward' });
    expect(bot.store.models.list()[0]).toMatchObject({ family: 'fold-book' });
    // What changed nothing is no version.
    bot.say('/family name "Orrin K3" as:fold-book');
    expect(bot.store.models.versions(model?.id ?? 0)).toHaveLength(3);
  });
  it('loses the name of one who left in what was kept, too', () => {
    const bot = testBot();
    bot.say('/family name "Orrin K3" as:glued-front-home-sensor', { as: 'Wrenwick' });
    bot.say('/family name "Orrin K3" as:fold-book');
    bot.say('/mydata erase sure:yes', { as: 'Wrenwick', direct: true });
    expect(JSON.stringify(bot.dump())).not.toContain('Wrenwick');
    bot.say('/family forget "Orrin K3"');
    expect(bot.dump().model_versions).toEqual([]);
  });
  it.each(['0rrin K3', 'Orrin КЗ', 'Оrrin K3', 'OrrinK3', 'Οrrin K3', 'Orrln K3', 'Orrin K3\u0301'])(
    'asks where a name looks like one that is there: %s',
    (name) => {
      const bot = testBot();
      bot.say('/family name "Orrin K3" as:glued-front-home-sensor');
      const asked = bot.say({
        invoke: { command: 'family', action: 'name', options: { model: name, as: 'fold-book' } },
      });
      if (bot.store.models.findByName(name)) return expect(bot.store.models.list()).toHaveLength(1);
      expect(familyNameData.parse(asked.data)).toMatchObject({ saved: null, like: { name: 'Orrin K3' } });
      expect(bot.store.models.list()).toHaveLength(1);
      expect(
        refusalOf(bot.say({ invoke: { command: 'family', action: 'guess', options: { model: name } } })),
      ).toMatchObject({
        code: 'bad-option',
        nearest: ['Orrin K3'],
      });
      const [same, other] = asked.choices;
      bot.say({ token: other?.token ?? '' });
      expect(bot.store.models.list()).toHaveLength(2);
      bot.say({ token: same?.token ?? '' });
      expect(bot.store.models.findByName('Orrin K3')).toMatchObject({ family: 'fold-book' });
    },
  );
  it('does not ask where names only share letters', () => {
    const bot = testBot();
    for (const name of ['Orrin K3', 'Orrin K4', 'Orrin K30', 'Tarn 8', 'Tarn 9'])
      expect(bot.say(`/family name "${name}" as:fold-book`).data, name).toMatchObject({ saved: { name } });
  });
  it.each([
    '/family guess "Tarn 8" year:2031',
    '/job wait other until:2399-01-01 job:1',
    '/shelf add battery of:fold-book grade:copy due:1026-03-09',
  ])('a year has to be sensible: %s', (line) => {
    const bot = testBot();
    bot.say('/family name "Orrin K3" as:fold-book');
    bot.say('/job open "Orrin K3"');
    expect(refusalOf(bot.say(line))).toMatchObject({ code: 'bad-option' });
  });
});
