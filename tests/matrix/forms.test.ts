import { beforeEach, describe, expect, it } from 'vitest';
import { commands } from '../../commands/index.ts';
import { questionAfter, questionReply } from '../../src/surfaces/matrix/forms.ts';
import { type TestBot, testBot } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot();
  for (const name of ['Orrin K3', 'Orrin K4', 'Tarn 8'])
    tin.say(`/family name model:"${name}" as:glued-front-home-sensor new-price:700`);
});
const ask = (line: string) => {
  const refused = tin.say(line);
  expect(refused.outcome).toBe('refused');
  return questionAfter(refused, { line }, commands, tin.context());
};

describe('an option that must be asked for', () => {
  it('is offered from its lookup where it is missing', () => {
    const question = ask('/worth price:20');
    expect(question?.option).toBe('model');
    expect(question && questionReply(question).title).toBe('Which model or family?');
    expect(question?.picks.map(({ value }) => value)).toEqual(
      expect.arrayContaining(['Orrin K3', 'Orrin K4', 'Tarn 8']),
    );
    expect(question?.picks.length).toBeLessThanOrEqual(10);
  });

  it('is narrowed to what is near where it matches nothing, and the command goes on from a pick', () => {
    const question = ask('/worth "Orrin K" price:20');
    expect(question?.picks.slice(0, 2).map(({ value }) => value)).toEqual(['Orrin K3', 'Orrin K4']);
    const made = question && questionReply(question);
    expect(made?.choices[0]?.invoke).toEqual({
      command: 'worth',
      action: '',
      options: { model: 'Orrin K3', price: '20' },
    });
    const picked = made?.choices[0];
    expect(picked && tin.say({ invoke: picked.invoke }).outcome).toBe('answered');
  });

  it('is mended in its place in a list', () => {
    const question = ask('/worth "Orrin K3" damage:"battery, displey" price:20');
    expect(question?.option).toBe('damage');
    expect(question?.picks.length).toBeGreaterThan(0);
    expect(question?.picks.every(({ value }) => value.startsWith('battery, '))).toBe(true);
  });

  it('is asked for in words where there is nothing to pick from', () => {
    const question = ask('/prices add "Orrin K3"');
    expect(question).toMatchObject({ option: 'price', picks: [] });
    expect(question && JSON.stringify(questionReply(question).blocks)).toContain('an amount like 60');
  });

  it('is not asked for where the refusal is about something else', () => {
    for (const line of [
      '/worth "Orrin K3" price:x',
      '/nothing',
      '/worth colour:red',
      '/setup rate:30',
      '/prices import',
    ])
      expect(ask(line), line).toBeNull();
  });
});
