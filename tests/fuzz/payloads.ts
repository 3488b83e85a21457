/** What a chat platform sends, with something in it that should not be there. */
import { readFileSync } from 'node:fs';
import { z } from 'zod';

const recorded = z
  .record(z.string(), z.unknown())
  .parse(JSON.parse(readFileSync(new URL('../matrix/recorded.json', import.meta.url), 'utf8')));
/** Events as a homeserver's sync has them. */
export const matrixEvents: readonly unknown[] = Object.values(recorded);

const envelope = {
  id: '1575680739616227328',
  application_id: '1500000000000000001',
  token: 'aBVmPIEJhxtFSES',
  channel_id: '1500000000000000002',
  guild_id: '1500000000000000003',
  member: {
    user: { id: '1500000000000000004', username: 'moss', global_name: 'Moss' },
    nick: null,
    roles: ['1500000000000000005'],
    permissions: '2147483647',
  },
  locale: 'en-GB',
  app_permissions: '117760',
  attachment_size_limit: 10_485_760,
  authorizing_integration_owners: { 0: '1500000000000000003' },
};
const options = [
  { name: 'open', type: 1, options: [{ name: 'model', type: 3, value: 'Orrin K3', focused: true }] },
];
/** Interactions as the gateway has them: a command, a completion, a press, a form, an entry of a message's menu. */
export const discordInteractions: readonly unknown[] = [
  { ...envelope, type: 2, data: { name: 'job', type: 1, options } },
  { ...envelope, type: 4, data: { name: 'job', type: 1, options } },
  {
    ...envelope,
    type: 3,
    message: {
      id: '1500000000000000006',
      flags: 64,
      author: { id: '1500000000000000001' },
      attachments: [{ id: '1', filename: 'week.png', description: 'A week' }],
      interaction_metadata: { user: { id: '1500000000000000004' } },
    },
    data: { custom_id: 'c|job|1|d5sRg9HWZ62p7IGX', component_type: 2, values: [] },
  },
  {
    ...envelope,
    type: 5,
    data: { custom_id: 'f|note|add', components: [{ component: { custom_id: 'text', value: 'fluff' } }] },
  },
  {
    ...envelope,
    type: 2,
    data: {
      name: 'Add to job log',
      type: 3,
      target_id: '7',
      resolved: { messages: { 7: { content: 'x' } } },
    },
  },
];

/** The value with one in forty of its parts lost, doubled, or made into something else. */
export function spoiled(value: unknown, random: () => number, text: string): unknown {
  if (random() < 1 / 40) {
    const others = [
      null,
      undefined,
      '',
      text,
      -1,
      Number.POSITIVE_INFINITY,
      Number.NaN,
      true,
      [],
      {},
      [value, value],
      { value },
    ];
    return others[Math.floor(random() * others.length)];
  }
  if (Array.isArray(value)) return value.map((one) => spoiled(one, random, text));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).flatMap(([name, one]) => {
      const chance = random();
      if (chance < 1 / 80) return [];
      if (chance < 1 / 40) return [[text, spoiled(one, random, text)]];
      return [[name, spoiled(one, random, text)]];
    }),
  );
}
