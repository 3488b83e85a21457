/** The published API description as zod schemas; the package's own types are missing. */
declare module 'discord-api-spec/zod' {
  import type { ZodMiniType } from 'zod/mini';

  export const ApplicationCommandCreateRequestSchema: ZodMiniType;
  export const ApplicationCommandPatchRequestPartialSchema: ZodMiniType;
  export const CreateMessageInteractionCallbackRequestSchema: ZodMiniType;
  export const UpdateMessageInteractionCallbackRequestSchema: ZodMiniType;
  export const ApplicationCommandAutocompleteCallbackRequestSchema: ZodMiniType;
  export const ModalInteractionCallbackRequestSchema: ZodMiniType;
  export const IncomingWebhookInteractionRequestSchema: ZodMiniType;
  export const IncomingWebhookUpdateForInteractionCallbackRequestPartialSchema: ZodMiniType;
  export const MessageCreateRequestSchema: ZodMiniType;
  export const MessageEditRequestPartialSchema: ZodMiniType;
  export const CreatePrivateChannelRequestSchema: ZodMiniType;
  export const CreateTextThreadWithMessageRequestSchema: ZodMiniType;
  export const CreateForumThreadRequestSchema: ZodMiniType;
  export const UpdateThreadRequestPartialSchema: ZodMiniType;
  export const UpdateGuildChannelRequestPartialSchema: ZodMiniType;

  export const ApplicationCommandResponseSchema: ZodMiniType;
  export const PrivateApplicationResponseSchema: ZodMiniType;
  export const ErrorResponseSchema: ZodMiniType;
  export const GatewayBotResponseSchema: ZodMiniType;
  export const GuildChannelResponseSchema: ZodMiniType;
  export const GuildMemberResponseSchema: ZodMiniType;
  export const GuildResponseSchema: ZodMiniType;
  export const InteractionCallbackResponseSchema: ZodMiniType;
  export const MessageResponseSchema: ZodMiniType;
  export const CreatedThreadResponseSchema: ZodMiniType;
  export const ThreadResponseSchema: ZodMiniType;
  export const ThreadsResponseSchema: ZodMiniType;
  export const PrivateChannelResponseSchema: ZodMiniType;
  export const RatelimitedResponseSchema: ZodMiniType;
  export const UserPIIResponseSchema: ZodMiniType;
}
