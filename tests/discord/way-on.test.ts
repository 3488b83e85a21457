/** That each refusal of the bot, drawn for Discord, has a way on in its buttons and menus. */
import { describe, expect, it } from 'vitest';
import { messagesOf } from '../../src/surfaces/discord/outgoing.ts';
import { everyRefusal } from '../language/every-refusal.ts';
import { refusalOf } from '../test-bot.ts';
import { checkMessage, isObject, jsonSchema, listIn, objectsIn, textIn } from './loopback/rules.ts';

describe('every refusal on Discord', () => {
  it('is a message that Discord takes, with a way on', () => {
    const kinds = { buttons: 0, menus: 0, several: 0, forms: 0 };
    for (const { line, reply } of everyRefusal('en', { forms: true })) {
      if (reply.outcome !== 'refused') continue;
      const code = refusalOf(reply)?.code ?? '';
      const choices = reply.choices.map((one, index) => ({ ...one, token: `t${index}` }));
      const messages = messagesOf({ ...reply, choices }, [], { command: 'help', request: null });
      for (const { body } of messages) {
        const sent = jsonSchema.parse(JSON.parse(JSON.stringify(body)));
        expect(isObject(sent) ? checkMessage(sent, []) : ['no message'], line).toEqual([]);
      }
      // Only time helps there, or nobody knows whose bot it is.
      if (code === 'rate-limited' || code === 'no-collective') continue;
      const rows = jsonSchema.parse(JSON.parse(JSON.stringify(messages.at(-1)?.body.components ?? [])));
      const parts = listIn(rows).flatMap((row) => (isObject(row) ? objectsIn(row.components) : []));
      const shown = parts.flatMap((part) => [
        part.custom_id,
        ...objectsIn(part.options).map(({ value }) => value),
      ]);
      // Nothing that is offered is left out for want of room.
      for (const [index, choice] of choices.entries())
        expect(
          shown.some((id) => textIn(id).endsWith(`|t${index}`)) || choice.invoke.command === 'home',
          `${line}: ${choice.label}`,
        ).toBe(true);
      kinds.buttons += parts.filter(({ type }) => type === 2).length;
      kinds.menus += parts.filter(({ type }) => type === 3).length;
      kinds.several += parts.filter(({ max_values }) => Number(max_values ?? 1) > 1).length;
      kinds.forms += shown.filter((id) => textIn(id).startsWith('o|')).length;
    }
    expect(kinds.buttons).toBeGreaterThan(150);
    for (const count of Object.values(kinds)) expect(count).toBeGreaterThan(3);
  });
});
