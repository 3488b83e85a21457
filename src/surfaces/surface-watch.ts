/** What a surface tells whoever watches the bot; counts and states, nothing of what people say. */
export interface SurfaceWatch {
  /** The platform's connection is there, or lost. */
  connected(platform: string, is: boolean): void;
  /** An answer was not ready in time, and was put off. */
  deferred(): void;
  /** An answer came when the platform took none any more. */
  late(): void;
}

export const unwatched: SurfaceWatch = {
  connected: () => undefined,
  deferred: () => undefined,
  late: () => undefined,
};
