/** Commands of this surface alone: they are about servers, channels and roles, which the core knows nothing of. */
import type { Message } from '../../../shared/language/message.ts';
import { say } from '../../../shared/language/say.ts';
import { optionType, POSTABLE } from './api.ts';

export interface OwnOption {
  type: number;
  name: string;
  description: Message;
  required?: boolean;
  autocomplete?: boolean;
  channel_types?: readonly number[];
  choices?: { name: string; value: string }[];
}
export interface OwnCommand {
  name: string;
  summary: Message;
  /** In direct messages; otherwise in servers. */
  direct: boolean;
  actions: Readonly<Record<string, { summary: Message; options: readonly OwnOption[] }>>;
}

const yes = (name: string, description: Message): OwnOption => ({
  type: optionType.text,
  name,
  description,
  choices: [{ name: 'yes', value: 'yes' }],
});

export const ownCommands = [
  {
    name: 'server',
    summary: say`This server: its collective, its stewards, the channel of the weekly post`,
    direct: false,
    actions: {
      show: { summary: say`Show how this server is set up, and what is missing`, options: [] },
      roles: {
        summary: say`Say which role makes a steward, and whether members need one`,
        options: [
          {
            type: optionType.role,
            name: 'steward',
            description: say`Who has it is a steward; those who may manage the server always are`,
          },
          {
            type: optionType.role,
            name: 'member',
            description: say`Who has it is a member; everyone here is when no role is set`,
          },
          yes('nobody', say`Forget both roles`),
        ],
      },
      weekly: {
        summary: say`Say in which channel the weekly post goes out`,
        options: [
          {
            type: optionType.channel,
            name: 'channel',
            description: say`This one when left out`,
            channel_types: POSTABLE,
          },
          yes('off', say`Nowhere in this server`),
        ],
      },
    },
  },
  {
    name: 'home',
    summary: say`Choose the collective that your direct messages go to`,
    direct: true,
    actions: { choose: { summary: say`Choose among the collectives you are in`, options: [] } },
  },
] as const satisfies readonly OwnCommand[];

export const isOwn = (command: string): boolean => ownCommands.some(({ name }) => name === command);
