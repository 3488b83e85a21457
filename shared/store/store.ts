import type { Collective, CollectiveSettings } from '../collective/collective-settings.ts';
import type { Sealer } from '../sealing/sealer.ts';
import { type BenchReadings, benchReadingsOf } from './bench-readings.ts';
import { type CautionsShown, cautionsShownOf } from './cautions-shown.ts';
import { type Choices, choicesOf } from './choices.ts';
import { type Fittings, fittingsOf } from './fittings.ts';
import { type JobPosts, jobPostsOf } from './job-posts.ts';
import { type Jobs, jobsOf } from './jobs.ts';
import { type LearnedWords, learnedWordsOf } from './learned-words.ts';
import { type LinkWords, linkWordsOf } from './link-words.ts';
import { type Models, modelsOf } from './models.ts';
import { type Notes, notesOf } from './notes.ts';
import { type OpenRecords, openRecordsOf } from './open-records.ts';
import { type OutcomeCountStore, outcomeCountsOf } from './outcome-counts.ts';
import { type People, peopleOf } from './people.ts';
import { type PersonData, personDataOf } from './person-data.ts';
import { type PhoneEvents, phoneEventsOf } from './phone-events.ts';
import { type Photos, photosOf } from './photos.ts';
import { type Requests, requestsOf } from './requests.ts';
import { type Shelf, shelfOf } from './shelf.ts';
import { type ShownMessages, shownMessagesOf } from './shown-messages.ts';
import { type Sightings, sightingsOf } from './sightings.ts';
import type { Sql } from './sql.ts';
import { type Swaps, swapsOf } from './swaps.ts';
import { type Tacs, tacsOf } from './tacs.ts';
import { type Traces, tracesOf } from './traces.ts';
import { type Weeks, weeksOf } from './weeks.ts';
import { type WipedBy, wipedByOf } from './wiped-by.ts';
import { type WipedWords, wipeCopies } from './wiped-words.ts';

/** The records of one collective. Every statement behind it is bound to that collective's id. */
export interface Store {
  collective: Collective;
  saveSettings(settings: CollectiveSettings): void;
  models: Models;
  sightings: Sightings;
  traces: Traces;
  jobs: Jobs;
  phoneEvents: PhoneEvents;
  cautionsShown: CautionsShown;
  outcomeCounts: OutcomeCountStore;
  tacs: Tacs;
  swaps: Swaps;
  shelf: Shelf;
  /** What was fitted in finished phones, and what of it failed again. */
  fittings: Fittings;
  /** Records of other benches. */
  openRecords: OpenRecords;
  weeks: Weeks;
  photos: Photos;
  shown: ShownMessages;
  /** The threads of jobs in chat. */
  jobPosts: JobPosts;
  notes: Notes;
  choices: Choices;
  links: LinkWords;
  requests: Requests;
  /** The bench's own tables, by model. */
  benchReadings: BenchReadings;
  /** What people's own words were put right to. */
  learnedWords: LearnedWords;
  people: People;
  personData: PersonData;
  /** Who removed words from what. */
  wipedBy: WipedBy;
  /**
   * Removes copies of words that were removed from where they are kept. How many messages in chat may show them, by platform: they
   * are put right there.
   */
  wipeCopies(words: WipedWords): Record<string, number>;
}

export const storeOf = (
  sql: Sql,
  sealer: Sealer,
  collective: Collective,
  saveSettings: (id: number, settings: CollectiveSettings) => void,
): Store => ({
  collective,
  saveSettings: (settings) => saveSettings(collective.id, settings),
  models: modelsOf(sql, collective.id),
  sightings: sightingsOf(sql, collective.id),
  traces: tracesOf(sql, collective.id),
  jobs: jobsOf(sql, sealer, collective.id),
  phoneEvents: phoneEventsOf(sql, collective.id),
  cautionsShown: cautionsShownOf(sql, collective.id),
  outcomeCounts: outcomeCountsOf(sql, collective.id),
  tacs: tacsOf(sql, collective.id),
  swaps: swapsOf(sql, collective.id),
  shelf: shelfOf(sql, collective.id),
  fittings: fittingsOf(sql, collective.id),
  openRecords: openRecordsOf(sql, collective.id),
  weeks: weeksOf(sql, collective.id),
  photos: photosOf(sql, sealer, collective.id),
  shown: shownMessagesOf(sql, collective.id),
  jobPosts: jobPostsOf(sql, collective.id),
  notes: notesOf(sql, sealer, collective.id),
  choices: choicesOf(sql, sealer, collective.id),
  links: linkWordsOf(sql, collective.id),
  requests: requestsOf(sql, sealer, collective.id),
  benchReadings: benchReadingsOf(sql, collective.id),
  learnedWords: learnedWordsOf(sql, collective.id),
  people: peopleOf(sql, collective.id),
  personData: personDataOf(sql, sealer, collective.id),
  wipedBy: wipedByOf(sql, collective.id),
  wipeCopies: (words) => wipeCopies(sql, sealer, collective.id, words),
});
