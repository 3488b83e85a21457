/** The part of sanitize-html that the tests use; it comes with matrix-bot-sdk. */
declare module 'sanitize-html' {
  export default function sanitizeHtml(
    html: string,
    options: {
      allowedTags: readonly string[];
      allowedAttributes: Readonly<Record<string, readonly string[]>>;
    },
  ): string;
}
