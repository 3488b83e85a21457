/** Several choices taken at once: they are one command, in which one option has the values of all. Pure. */
import { say } from '../../shared/language/say.ts';
import type { Command } from './command.ts';
import { Refusal } from './refusal.ts';
import type { Invocation } from './reply.ts';

/** The option whose values add up; null where the commands differ in more than that, or it takes one value alone. */
function addingUp(invocations: readonly Invocation[], commands: readonly Command[]): string | null {
  const [first, ...rest] = invocations;
  if (!first || rest.some(({ command, action }) => command !== first.command || action !== first.action))
    return null;
  const names = new Set(invocations.flatMap(({ options }) => Object.keys(options)));
  const differing = [...names].filter((name) =>
    rest.some(({ options }) => options[name] !== first.options[name]),
  );
  const [only] = differing;
  const action = commands.find(({ name }) => name === first.command)?.actions[first.action];
  const adds = only !== undefined && differing.length === 1 && action?.options[only]?.many === true;
  return adds && invocations.every(({ options }) => options[only] !== undefined) ? only : null;
}

/** One command for all. Throws Refusal where they do not go together. */
export function joinedInvocation(
  invocations: readonly Invocation[],
  commands: readonly Command[],
): Invocation {
  const [first] = invocations;
  if (first && invocations.length === 1) return first;
  const option = addingUp(invocations, commands);
  if (!first || option === null) {
    throw new Refusal({
      code: 'bad-option',
      problem: say`Those choices do not go together.`,
      expected: say`one of them, or several that answer the same`,
    });
  }
  const values = [...new Set(invocations.map(({ options }) => options[option] ?? ''))];
  return { ...first, options: { ...first.options, [option]: values.join(', ') } };
}
