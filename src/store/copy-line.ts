import { COPY_KEPT_DAYS, type UpgradeCopy } from '../../shared/store/index.ts';

/** What was erased since a copy was made stands in it still. */
export const copyLine = ({ file, made }: UpgradeCopy): string =>
  `A copy from before an update, of ${made.toISOString().slice(0, 10)}: ${file}. What was erased since is in it; a running bot erases it ${COPY_KEPT_DAYS} days after that day.`;
