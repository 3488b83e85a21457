/**
 * Loaded into the real program by `node --import`: kills it (SIGKILL) at a named step, and moves its clock. The program
 * itself knows nothing of this. KILL_AT is `before-commit:3` or `after-commit:3`: the third commit of the process, whatever
 * it saves. CLOCK_SHIFT_MS is added to every reading of the time. What waits for DEFER_AT_ONCE_MS comes at once: an answer is
 * deferred after so long, and so each is deferred before it can be made.
 */
import Sqlite from 'better-sqlite3';

const [wanted, count] = (process.env.KILL_AT ?? '').split(':');
let left = Number(count);
const reach = (step) => {
  if (step !== wanted) return;
  left -= 1;
  if (left === 0) process.kill(process.pid, 'SIGKILL');
};

const { transaction, prepare } = Sqlite.prototype;
const variants = ['deferred', 'immediate', 'exclusive'];

/** A transaction that is not within another one: its commit is a step. */
Sqlite.prototype.transaction = function watchedTransaction(work) {
  const within = transaction.call(this, work);
  const alone = transaction.call(this, (...given) => {
    const result = work(...given);
    reach('before-commit');
    return result;
  });
  const watched =
    (variant) =>
    (...given) => {
      if (this.inTransaction) return within[variant](...given);
      const result = alone[variant](...given);
      reach('after-commit');
      return result;
    };
  const made = watched('default');
  for (const variant of variants) made[variant] = watched(variant);
  return made;
};

/** A change outside of a transaction is a commit of its own. */
Sqlite.prototype.prepare = function watchedPrepare(text) {
  const statement = prepare.call(this, text);
  if (statement.readonly) return statement;
  for (const method of ['run', 'get', 'all']) {
    const plain = statement[method];
    Object.defineProperty(statement, method, {
      value: (...given) => {
        if (this.inTransaction) return plain.apply(statement, given);
        reach('before-commit');
        const result = plain.apply(statement, given);
        reach('after-commit');
        return result;
      },
    });
  }
  return statement;
};

const shift = Number(process.env.CLOCK_SHIFT_MS ?? 0);
if (shift) {
  const Real = Date;
  globalThis.Date = class extends Real {
    constructor(...given) {
      if (given.length) super(...given);
      else super(Real.now() + shift);
    }
    static now() {
      return Real.now() + shift;
    }
    static [Symbol.hasInstance](value) {
      return value instanceof Real;
    }
  };
}

const atOnceMs = Number(process.env.DEFER_AT_ONCE_MS ?? 0);
if (atOnceMs) {
  const later = globalThis.setTimeout;
  const timer = (work, ms, ...given) => {
    if (ms !== atOnceMs) return later(work, ms, ...given);
    work(...given);
    return later(() => {}, 0);
  };
  globalThis.setTimeout = Object.defineProperties(timer, Object.getOwnPropertyDescriptors(later));
}
