import { z } from 'zod';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { say } from '../../shared/language/say.ts';
import { toMajor } from '../../shared/money/money.ts';
import { defineSimpleCommand } from '../framework/command.ts';
import { choiceOption, integerOption, lookupOption, moneyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { appraisePhone } from '../shared/appraise-phone.ts';
import { type Look, seenOption, stateAfterLooks } from '../shared/at-the-table.ts';
import { benchEventsOf, damageOf, mendedIn, traceMeant } from '../shared/find-trace.ts';
import { modelsAndFamilies } from '../shared/lookups.ts';
import { conditions, gradeOf, phoneOf, phoneOfTrace } from '../shared/phone.ts';
import { stateOfTrace } from '../shared/phone-state.ts';
import { readBack, readData } from '../shared/read-back.ts';
import { checkDamage, eventsOfFound, toldEvents } from '../shared/said-besides.ts';
import { damageOption, deniedOption, foundOption, idsOf, symptomsOption } from '../shared/words-options.ts';

import { worthReply } from './reply.ts';
import { worthData } from './worth-data.ts';

const eventsOf = (looks: readonly Look[]): BenchEvent[] =>
  looks.map(({ check, outcome }) => ({ kind: 'check', id: check.id, outcome: outcome.id }));

export const worth = defineSimpleCommand({
  name: 'worth',
  summary: say`Cost against value: restore it, look first, strip it, sell it on or pass, and the most worth paying`,
  options: {
    model: optional(
      lookupOption({ summary: say`The model, or a family`, example: 'Orrin K3', lookup: modelsAndFamilies }),
    ),
    price: optional(moneyOption({ summary: say`Price asked; nothing if it is a gift`, example: '60' })),
    symptoms: optional(symptomsOption(say`What is wrong with it, in your own words`, 'dead')),
    damage: damageOption,
    denied: deniedOption,
    found: foundOption,
    trace: optional(
      integerOption({ summary: say`Take up the state of this trace`, example: '3', min: 1, max: 1e9 }),
    ),
    condition: optional(
      choiceOption({ summary: say`How it will look when sold`, example: 'good', choices: conditions }),
    ),
    storage: optional(integerOption({ summary: say`Storage in GB`, example: '64', min: 1, max: 8192 })),
    value: optional(
      moneyOption({ summary: say`What it sells for when working, if you know`, example: '180' }),
    ),
    keep: optional(
      choiceOption({
        choices: ['yes'],
        summary: say`You keep it in use once it works, and do not sell it`,
        example: 'yes',
      }),
    ),
    seen: optional(seenOption),
  },
  examples: ['/worth "Orrin K3" price:60 symptoms:dead', '/worth trace:3 price:60'],

  data: z.union([worthData, readData]),
  refuses: ['not-found', 'missing-option', 'wrong-state'],
  run: (options, context, texts) => {
    const trace = options.trace === undefined ? null : traceMeant(context, options.trace);
    const phone = trace ? phoneOfTrace(context, trace) : options.model && phoneOf(context, options.model);
    if (options.symptoms && 'words' in options.symptoms) {
      const goal = { command: 'worth', action: '', options: texts };
      return readBack(context, { text: options.symptoms.words, goal, family: phone?.family ?? null });
    }
    if (!phone) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which phone is it?`,
        expected: say`a model, a family or a trace`,
        option: 'model',
      });
    }
    const said = { denied: idsOf(options.denied), damage: idsOf(options.damage), found: options.found ?? [] };
    checkDamage(context, phone.family, said.damage);
    const symptoms = options.symptoms?.ids ?? [];
    const told = toldEvents(context, phone.family, said);
    const looks = options.seen ?? [];
    if (trace && looks.length) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`What was seen of a traced phone belongs in its trace.`,
        expected: say`/trace answer, or /worth without trace:`,
        option: 'seen',
      });
    }
    const found = eventsOfFound(context, phone.family, said.found);
    const asked = {
      price: options.price ? toMajor(options.price) : 0,
      grade: gradeOf(options.condition ?? 'fair'),
      ...(options.storage === undefined ? {} : { storageGb: options.storage }),
      ...(options.value === undefined ? {} : { value: toMajor(options.value) }),
      symptoms,
      ...(trace
        ? {
            events: [...benchEventsOf(context, trace), ...told],
            state: stateOfTrace(context, trace, symptoms),
          }
        : { events: told }),
      damage: [...new Set([...(trace ? damageOf(context, trace) : []), ...said.damage])],
      atTable: !trace,
      kept: options.keep === 'yes',
    };
    const after = (seen: readonly Look[]) =>
      appraisePhone(context, phone, {
        ...asked,
        ...(trace
          ? {}
          : { state: stateAfterLooks(context, phone, symptoms, seen, found), looks: eventsOf(seen) }),
      });
    const appraised = after(looks);
    const before = looks.length ? after(looks.slice(0, -1)).result : null;
    const { economics, result } = appraised;
    const rough = [
      ...(result.works && !trace
        ? [say`nothing was said to be wrong, so it is counted as working (symptoms:, damage:)`]
        : []),
      ...(economics.standIn ? [say`no price is known for it (/prices add, or value:)`] : []),
      ...(economics.market?.rough ? [say`few sightings, or far apart`] : []),
      ...(phone.model ? [] : [say`no model is named, only how it is built`]),
    ];
    const mendedBy = trace ? mendedIn(trace, context) : null;
    const { seen: _, ...again } = texts;
    return worthReply(
      { ...appraised, phone, rough, mendedBy, looks, before, again, kept: asked.kept },
      context,
    );
  },
});
