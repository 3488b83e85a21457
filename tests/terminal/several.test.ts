/** Several choices answered with their numbers in one line. */
import { expect, it } from 'vitest';
import { renderFrontAsText } from '../../src/surfaces/text-render.ts';
import { refusalOf } from '../test-bot.ts';
import { newSession } from './new-session.ts';

const begun = () => {
  const session = newSession({}, '2026-03-02T09:00:00Z');
  session.say('/family name "Orrin K3" as:glued-front-home-sensor');
  session.say('/job open "Orrin K3" came:given symptoms:dim ownership:shown lock:free stolen:clear');
  return session;
};
const numberOf = (reply: ReturnType<ReturnType<typeof begun>['say']>, label: string): number => {
  const at = reply.choices.findIndex((one) => one.label === label);
  if (at < 0) throw new Error(`no ${label} among ${reply.choices.map((one) => one.label).join()}`);
  return at + 1;
};

it('takes several that fail at once, and says that it does', () => {
  const session = begun();
  const asked = session.say('/job test');
  expect(renderFrontAsText(asked, { width: 80, colour: false })).toContain('several of a kind as 2 4');
  const numbers = ['Fails: display', 'Fails: touch'].map((label) => numberOf(asked, label));
  const answered = session.say(numbers.join(' '));
  expect(answered.title).toContain('2 failed');
});
it('takes none where they do not go together', () => {
  const session = begun();
  const asked = session.say('/job test');
  const numbers = ['Fails: display', 'Cannot be tested here: touch'].map((label) => numberOf(asked, label));
  const refused = session.say(numbers.join(', '));
  expect(refusalOf(refused)?.code).toBe('bad-option');
  expect(refused.title).toBe('Those choices do not go together.');
  expect(session.say('/job test').title).not.toContain('failed');
});
it('takes none where one of them is none', () => {
  const session = begun();
  session.say('/job test');
  expect(session.say('2 40').title).toBe('There is no choice 40.');
});
it('starts a trace with several symptoms that were missing', () => {
  const session = begun();
  const refused = session.say('/trace start model:"Orrin K3"');
  const [first, second] = refused.choices.filter(({ several }) => several);
  const started = session.say([first, second].map((one) => numberOf(refused, one?.label ?? '')).join(','));
  expect(started.outcome).toBe('answered');
});
