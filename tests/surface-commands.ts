/** The commands that only one surface has, with stand-ins for what they act on: for tests that look at every command. */
import type { Command } from '../commands/framework/command.ts';
import { commands } from '../commands/index.ts';
import type { Collective } from '../shared/collective/collective-settings.ts';
import { type Database, openDatabase } from '../shared/store/index.ts';
import { discordCommands } from '../src/surfaces/discord/server-command.ts';
import { matrixCommands } from '../src/surfaces/matrix/room-command.ts';
import { switchCommands } from '../src/surfaces/terminal/switch.ts';
import { testSealer } from './sealer.ts';

export interface SurfaceCommands {
  /** Null: those that every surface has. */
  surface: string | null;
  commands: readonly Command[];
}

let none: Database | undefined;
const emptyStore = (): Database => {
  none ??= openDatabase(':memory:', testSealer);
  return none;
};

/** `homes`: the collectives that whoever asks is in. */
export function surfaceCommands(
  database: () => Database = emptyStore,
  homes: () => readonly Collective[] = () => [],
): SurfaceCommands[] {
  const home = {
    homesOf: homes,
    choose: ({ key }: { key: string }, id: number) => database().channelBindings.setHome(key, id),
  };
  const discord = discordCommands(() => ({
    ...home,
    database: database(),
    who: { rolesOf: () => ({ steward: '1', member: null }), setRoles: () => {} },
    rightsIn: () => 0n,
    nameOfRole: (_, role) => role,
    nameOfChannel: (channel) => `#${channel}`,
    channelAt: () => null,
  }));
  const matrix = matrixCommands(() => ({
    ...home,
    database: database(),
    own: '@thirdhand:shed.test',
    stewardLevel: 50,
    isLimited: () => false,
    stateOf: () => ({
      powers: null,
      creator: '@ines:shed.test',
      create: {},
      name: 'Workshop',
      encryption: null,
      history: 'shared',
    }),
  }));
  return [
    { surface: 'Discord', commands: discord },
    { surface: 'Matrix', commands: matrix },
    { surface: 'terminal', commands: switchCommands({ sit: () => {}, move: () => {} }) },
  ];
}

/** Every command there is, on whichever surface, with those that every surface has first. */
export const commandsBySurface = (): SurfaceCommands[] => [{ surface: null, commands }, ...surfaceCommands()];
