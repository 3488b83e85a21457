/** Danger and liquid as facts, through what people say: each sequence that once went wrong, by name. */
import { beforeEach, describe, expect, it } from 'vitest';
import { dangerData } from '../../commands/danger/reply.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { isCellFact } from '../../shared/phone/state.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const knowledge = loadKnowledge();
let tin: TestBot;
const say = (line: string, role: 'member' | 'steward' | 'visitor' = 'member') => tin.say(line, { role });
const answered = (line: string, role: 'member' | 'steward' = 'member'): Reply => {
  const reply = say(line, role);
  expect(reply, `${line}: ${reply.title}`).toMatchObject({ outcome: 'answered' });
  return reply;
};
const labels = (reply: Reply) => reply.choices.map(({ label }) => label);
const pick = (reply: Reply, label: RegExp): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  expect(choice, `${label} among ${labels(reply).join(' / ')}`).toBeDefined();
  return tin.say({ token: choice?.token ?? '' }, { role: 'member' });
};
const job = (reply: Reply) => jobData.parse(reply.data);
const trace = (reply: Reply) => traceData.parse(reply.data);
const cards = (reply: Reply) => reply.cautions.filter(({ brief }) => !brief).map(({ id }) => id);
const HOT = 'hot-or-smoking-cell';
const SWOLLEN = 'swollen-cell';
const WET = 'liquid-damage';
const PHONE = 'glued-front-home-sensor';
const ANSWERS = 'ownership:shown lock:free stolen:clear data:clear';

/** All functions of a job as passed, one command. */
const passAll = (number: number): Reply => {
  const { untested } = job(answered(`/job ${number}`));
  const names = untested.map((id) => knowledge.functions.get(id)?.name ?? id);
  return say(`/job test pass:"${names.join(', ')}" job:${number}`);
};
const page = (number: number): string => {
  const files = answered(`/job page job:${number}`).files;
  return files.find(({ mime }) => mime === 'text/markdown')?.text ?? '';
};

beforeEach(() => {
  tin = testBot({ knowledge });
});

describe('a job that was opened with a dangerous cell', () => {
  it.each([
    ['swollen', SWOLLEN],
    ['cell-hot-or-smoking', HOT],
  ])(
    '%s: takes no function test, is not finished as restored or stripped, and says so with its card',
    (symptom, card) => {
      const opened = answered(`/job open ${PHONE} symptoms:${symptom} ${ANSWERS}`);
      expect(cards(opened)[0]).toBe(card);
      expect(opened.tone).toBe('danger');
      expect(job(opened)).toMatchObject({ state: 'held', danger: 'suspect' });
      for (const line of [
        '/job test pass:display job:1',
        '/job test job:1',
        '/job finish restored page:seen kept:yes job:1',
        '/job finish stripped job:1',
        '/job log fitted:battery grade:copy out:14 job:1',
      ]) {
        const before = tin.dump();
        const refused = say(line);
        expect(refused.outcome, line).toBe('refused');
        expect(cards(refused)[0], line).toBe(card);
        expect(tin.dump(), line).toEqual(before);
      }
      // It may go back to its owner, or be passed on, at any time.
      expect(say('/job finish handed-back job:1').outcome).toBe('answered');
    },
  );

  it('is tested once someone qualified has fitted another cell, and its page says what it was', () => {
    answered(`/job open ${PHONE} symptoms:swollen ${ANSWERS}`);
    const isolated = pick(answered('/job 1'), /isolated/);
    expect(dangerData.parse(isolated.data).danger).toBe('isolated');
    expect(cards(isolated)[0]).toBe(SWOLLEN);
    expect(say('/job test pass:display job:1').outcome).toBe('refused');
    const fitted = answered('/danger new-cell who:"the battery service" job:1');
    expect(dangerData.parse(fitted.data)).toMatchObject({
      danger: 'none',
      facts: expect.arrayContaining(['swollen']),
    });
    expect(passAll(1).outcome).toBe('answered');
    expect(answered('/job finish restored page:seen kept:yes job:1').tone).toBe('good');
    const text = page(1);
    expect(text).toMatch(/its cell was found swollen/);
    expect(text).toContain('the battery service');
  });

  it('keeps its card on every reply about it, until then', () => {
    answered(`/job open ${PHONE} symptoms:swollen ${ANSWERS}`);
    for (const line of [
      '/job 1',
      '/job log "waits for the courier" job:1',
      '/trace start job:1',
      '/danger show job:1',
    ])
      expect(cards(answered(line))[0], line).toBe(SWOLLEN);
    pick(answered('/danger show job:1'), /isolated/);
    for (const line of ['/job 1', '/trace show 1']) {
      const reply = answered(line);
      expect(cards(reply)[0], line).toBe(SWOLLEN);
      expect(labels(reply).join(' '), line).not.toMatch(/Test its functions|Go on anyway/);
    }
  });
});

describe('a job whose phone got wet', () => {
  it('gets no current before it is cleaned, and its page tells of it', () => {
    const opened = answered(`/job open ${PHONE} symptoms:"got wet" ${ANSWERS}`);
    expect(cards(opened)).toContain(WET);
    expect(job(opened)).toMatchObject({ state: 'held', wet: 'wet', danger: 'none' });
    for (const line of ['/job test pass:charging job:1', '/job finish restored page:seen kept:yes job:1']) {
      const refused = say(line);
      expect(refused.outcome, line).toBe('refused');
      expect(cards(refused), line).toContain(WET);
    }
    pick(answered('/job 1'), /cleaned inside and dry/);
    expect(passAll(1).outcome).toBe('answered');
    answered('/job finish restored page:seen kept:yes job:1');
    expect(page(1)).toMatch(/It got wet.*cleaned inside and dried/);
  });
  it('is wet again when it gets wet again', () => {
    answered(`/job open ${PHONE} symptoms:"got wet" ${ANSWERS}`);
    answered('/danger cleaned job:1');
    answered('/danger wet job:1');
    expect(say('/job test pass:charging job:1').outcome).toBe('refused');
  });
});

describe('a cell that somebody sees', () => {
  const signs = [...knowledge.checks.values()].flatMap((check) =>
    check.outcomes.flatMap((outcome) => (outcome.means.some(isCellFact) ? [{ check, outcome }] : [])),
  );
  it('has checks that can show it', () => {
    expect(signs.length).toBeGreaterThanOrEqual(4);
  });
  it.each([...knowledge.families.keys()])('stops everything at once, whatever was odd before: %s', (id) => {
    const family = knowledge.families.get(id);
    if (!family) throw new Error('no family');
    for (const { check, outcome } of signs.filter((sign) => fits(family, sign.check))) {
      for (const symptom of ['dead', 'drains-fast', 'cracked-glass', 'no-sound']) {
        const begun = answered(`/trace ${symptom} model:${id}`);
        const { trace: number } = trace(begun);
        if (trace(begun).state === 'danger') continue;
        const reply = say(`/trace answer ${outcome.id} step:${check.id} trace:${number}`);
        expect(reply.outcome, `${check.id}=${outcome.id}: ${reply.title}`).toBe('answered');
        expect(trace(reply).state, `${symptom}: ${check.id}=${outcome.id}`).toBe('danger');
        expect([SWOLLEN, HOT]).toContain(cards(reply)[0]);
        const isolated = pick(reply, /isolated|Set apart/);
        expect(dangerData.parse(isolated.data).danger).toBe('isolated');
        expect(trace(answered(`/trace show ${number}`)).state).toBe('danger');
        expect(say(`/trace answer charges step:known-good-charger trace:${number}`).outcome).toBe('refused');
        answered(`/trace stop trace:${number}`);
      }
    }
  });
  it('stays seen when the answer is taken back, and a steward alone takes it back, with why', () => {
    answered(`/trace drains-fast model:${PHONE}`);
    answered('/trace answer stands step:rock-on-glass');
    expect(trace(answered('/trace back')).state).toBe('danger');
    expect(say('/danger withdraw lifted why:"another phone" trace:1').outcome).toBe('refused');
    const back = answered('/danger withdraw lifted why:"another phone" trace:1', 'steward');
    expect(dangerData.parse(back.data).danger).toBe('none');
    expect(trace(answered('/trace show 1')).state).toBe('asking');
  });
  it('can be said at every step that opens, heats, pries, presses or charges, in one tap', () => {
    let reply = answered(`/trace dead model:${PHONE}`);
    let offered = 0;
    for (let turn = 0; turn < 12 && ['asking', 'remedy'].includes(trace(reply).state); turn += 1) {
      const id = trace(reply).step?.id ?? '';
      const step = knowledge.checks.get(id) ?? knowledge.remedies.get(id);
      if (
        step?.hazards.some((hazard) =>
          ['charges', 'heats', 'pries', 'presses', 'live-supply'].includes(hazard),
        )
      ) {
        expect(labels(reply), id).toContain('Swollen, hot, leaking…');
        offered += 1;
      }
      reply = pick(reply, /Can't do that/);
    }
    expect(offered).toBeGreaterThan(1);
    let near = answered(`/trace dead model:${PHONE}`);
    for (let turn = 0; turn < 6 && !labels(near).includes('Swollen, hot, leaking…'); turn += 1)
      near = pick(near, /Can't do that/);
    const tapped = pick(near, /Swollen, hot, leaking…/);
    expect(dangerData.parse(tapped.data).danger).toBe('suspect');
    expect(labels(tapped).join(' ')).toMatch(/hot, hissing or smoking/);
    expect(cards(pick(tapped, /hot, hissing or smoking/))[0]).toBe(HOT);
  });
  it('is never said to be sound by the bot: after a new cell the rest is traced, without the old one', () => {
    answered(`/trace "swollen, no sound" model:${PHONE}`);
    answered('/danger isolated trace:1');
    answered('/danger new-cell who:"a battery service" trace:1');
    const on = trace(answered('/trace show 1'));
    expect(on.state).toBe('asking');
    expect(on.odds.filter(({ fault }) => fault.startsWith('battery-'))).toEqual([]);
    expect(on.odds[0]?.fault).toMatch(/speaker|audio/);
  });
  it('that was all there was leaves nothing to trace once another is fitted', () => {
    answered(`/trace swollen model:${PHONE}`);
    answered('/danger new-cell who:"a battery service" trace:1');
    expect(answered('/trace show 1').title).toMatch(/new cell, and nothing else/);
  });
});

describe('data that is wanted first', () => {
  const COPY = 'copy-data';
  const complaints = [...knowledge.symptoms.values()].filter(
    ({ id, history }) => id !== 'data-first' && !history,
  );
  /** The complaints beside which it is asked for before anything else. */
  const askedBeside = (told: string | null): string[] =>
    complaints.flatMap(({ id }) => {
      tin = testBot({ knowledge });
      const opened = say(`/job open ${PHONE} symptoms:"data-first, ${id}" ${ANSWERS}`);
      if (opened.outcome !== 'answered') return [];
      if (told) answered(`/danger ${told} job:1`);
      const reply = say('/trace start job:1');
      return reply.outcome === 'answered' && trace(reply).step?.id === COPY ? [id] : [];
    });
  it('is copied off with a cable, and so never from a wet phone, nor from one whose cell is suspect', () => {
    expect(knowledge.checks.get(COPY)?.hazards).toContain('charges');
    expect(askedBeside(null).length).toBeGreaterThan(1);
    expect(askedBeside('wet')).toEqual([]);
    expect(askedBeside('swollen')).toEqual([]);
  });
});

describe('the liquid mark', () => {
  it('that turned colour keeps every charger and every start away until it is cleaned', () => {
    for (const family of ['glued-front-home-sensor', 'glued-back-rear-sensor', 'removable-back-slab']) {
      const { trace: number } = trace(answered(`/trace no-charge model:${family}`));
      const mark = [...knowledge.checks.values()].find(({ outcomes }) =>
        outcomes.some(
          ({ id, means }) =>
            means.includes('wet') && /turned|colour/.test(id + outcomes.map(({ says }) => says).join()),
        ),
      );
      const turned = mark?.outcomes.find(({ means }) => means.includes('wet'));
      let reply = say(`/trace answer ${turned?.id} step:${mark?.id} trace:${number}`);
      expect(reply.outcome, reply.title).toBe('answered');
      for (let turn = 0; turn < 8 && ['asking', 'remedy'].includes(trace(reply).state); turn += 1) {
        const id = trace(reply).step?.id ?? '';
        const step = knowledge.checks.get(id) ?? knowledge.remedies.get(id);
        expect(trace(reply).phone.wet, id).toBe('wet');
        expect(
          step?.hazards.filter((hazard) => hazard === 'charges' || hazard === 'live-supply'),
          id,
        ).toEqual([]);
        expect(step?.powers, id).toBe(false);
        expect(cards(reply), id).toContain(WET);
        reply = pick(reply, /Can't do that/);
      }
      expect(say(`/trace answer charges step:known-good-charger trace:${number}`).title).toMatch(/wet/);
    }
  });
});

describe('words of danger', () => {
  const lines: readonly (readonly [string, string])[] = [
    ['/trace fire', HOT],
    [`/trace "smoking" model:${PHONE}`, HOT],
    ['/trace "burnt smell"', HOT],
    ['/worth "leaking battery"', SWOLLEN],
    ['/nonsense it is on fire', HOT],
    ['the battery is swollen', SWOLLEN],
    ['/paired "battery bulge"', SWOLLEN],
    ['/prices add "puffy battery"', SWOLLEN],
    ['/job open "dropped in toilet"', WET],
    ['/family name "sparks when I plug it in"', HOT],
    ['/caution "it hisses"', HOT],
    ['/help smoke', HOT],
  ];
  it.each(lines)('%s brings the right card first, with the number of the place', (line, card) => {
    const reply = say(line);
    expect(cards(reply)[0], JSON.stringify(reply.cautions.map(({ id }) => id))).toBe(card);
    expect(reply.before).toContain('Local codes and licensed practice come first');
    if (card === HOT) expect(JSON.stringify(reply.cautions[0])).toContain('000');
  });
  it('are heard in a private note too, and the number follows the region', () => {
    tin.store.saveSettings({ ...tin.collective.settings, region: 'US' });
    const reply = tin.say('/note add "the cell of the blue one smokes"', { direct: true });
    expect(reply.outcome).toBe('answered');
    expect(cards(reply)[0]).toBe(HOT);
    expect(JSON.stringify(reply.cautions[0])).toContain('911');
  });
  it('say how to set the place where it is not known', () => {
    tin.store.saveSettings({ ...tin.collective.settings, region: null });
    expect(say('/trace fire').before).toContain('/setup region:');
  });
  it('in the log of a job hold that job, and anyone may say that they were misread', () => {
    answered(`/job open ${PHONE} symptoms:dead ${ANSWERS}`);
    const logged = answered('/job log "pierced it, it smokes" job:1');
    expect(cards(logged)[0]).toBe(HOT);
    expect(job(logged)).toMatchObject({ state: 'held', danger: 'suspect' });
    const misread = pick(logged, /Misread/);
    expect(dangerData.parse(misread.data).danger).toBe('none');
    // What somebody said themselves is not misread.
    answered('/danger hot job:1');
    expect(labels(answered('/job 1')).join()).not.toContain('Misread');
  });
  it('bring the card of `/danger` itself where no phone is on the bench', () => {
    const reply = answered('/danger swollen');
    expect(cards(reply)[0]).toBe(SWOLLEN);
    expect(dangerData.parse(reply.data).subject).toBeNull();
  });
});

describe('cautions that repeat', () => {
  it('are whole once for a person and a phone, then a line with when to stop, and whole again for another', () => {
    const first = answered(`/trace fussy-charging model:${PHONE}`);
    const again = answered('/trace show 1');
    const whole = cards(first);
    expect(whole.length).toBeGreaterThan(0);
    expect(again.cautions.map(({ id }) => id)).toEqual(first.cautions.map(({ id }) => id));
    expect(cards(again)).toEqual([]);
    for (const { lead } of again.cautions) expect(lead.length).toBeLessThanOrEqual(110);
    expect(cards(tin.say('/trace show 1', { as: 'Bram', role: 'member' }))).toEqual(whole);
    const later = new Date(tin.now.getTime() + 12 * 3600 * 1000);
    expect(cards(tin.say('/trace show 1', { role: 'member', now: later }))).toEqual(whole);
  });
  it('are whole again after a sign of liquid or a remedy that failed', () => {
    const whole = cards(answered(`/trace fussy-charging model:${PHONE}`));
    expect(whole.length).toBeGreaterThan(0);
    answered('/danger wet trace:1');
    answered('/danger cleaned trace:1');
    expect(cards(answered('/trace show 1'))).toEqual(whole);
  });
  it('never shorten a suspect cell or liquid', () => {
    answered(`/trace "swollen, got wet" model:${PHONE}`);
    expect(cards(answered('/trace show 1'))).toEqual(expect.arrayContaining([SWOLLEN, WET]));
  });
  it('stand under the local codes, which are said once a reply', () => {
    for (const line of [
      `/trace fussy-charging model:${PHONE}`,
      '/danger swollen trace:1',
      `/family show ${PHONE}`,
    ]) {
      const reply = answered(line);
      expect(reply.before).toMatch(/^Local codes and licensed practice come first\./);
      expect(JSON.stringify(reply.cautions)).not.toContain('Local codes');
    }
    expect(answered('/setup').before).toBeUndefined();
  });
});

describe('in German', () => {
  it('the cards, the whole cautions and what is said of a danger are German', () => {
    tin.store.saveSettings({ ...tin.collective.settings, language: 'de', region: 'DE' });
    const reply = answered(`/trace "swollen, got wet" model:${PHONE}`);
    const english = [...knowledge.cautions.values()].flatMap(({ lead, dont, stopWhen }) => [
      lead,
      ...dont.map(({ says }) => says),
      ...stopWhen.map(({ says }) => says),
    ]);
    const said = JSON.stringify([reply.cautions, reply.before, reply.title]);
    for (const sentence of english) expect(said).not.toContain(sentence);
    expect(cards(reply)).toEqual(expect.arrayContaining([SWOLLEN, WET]));
    const full = JSON.stringify(answered('/caution heat').blocks);
    for (const sentence of english) expect(full).not.toContain(sentence);
    // What somebody types in German is heard too.
    expect(cards(say('/trace "der Akku raucht"'))[0]).toBe(HOT);
  });
});
