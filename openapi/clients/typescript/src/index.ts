// What makes the generated types short to use: a client that retries, answers or an error, lists without pages.
import createClient, { type Client } from "openapi-fetch";
import { retrying, type RetryOptions } from "./retrying";
import type { components, paths } from "./schema";

export type { components, paths };
export type Schemas = components["schemas"];
export type Coldwright = Client<paths>;
export type ConnectOptions = RetryOptions & { key?: string };

/** A client that asks again where that can do no harm; without a key on the service's own machine. */
export function connect(baseUrl: string, options: ConnectOptions = {}): Coldwright {
  const headers = options.key === undefined ? {} : { Authorization: `Bearer ${options.key}` };
  return createClient<paths>({ baseUrl, headers, fetch: retrying(options) });
}

/** The service answered with a problem; its `errors` name every wrong field. */
export class Failed extends Error {
  constructor(
    readonly status: number,
    readonly problem: Schemas["Problem"] | undefined,
  ) {
    super(problem === undefined ? String(status) : `${status}: ${problem.title}: ${problem.detail}`);
  }
}

/** What was answered as JSON; throws `Failed` for a problem. */
export async function answer<T>(
  asked: Promise<{ data?: T; error?: unknown; response: Response }>,
): Promise<Exclude<T, string | undefined>> {
  const { data, error, response } = await asked;
  if (!response.ok || data === undefined || typeof data === "string") {
    throw new Failed(response.status, error as Schemas["Problem"] | undefined);
  }
  return data as Exclude<T, string | undefined>;
}

/** Every entry of a list, page after page: `every((page_token) => answer(...), (page) => page.bookings)`. */
export async function* every<P extends { next_page_token?: string }, E>(
  ask: (pageToken: string | undefined) => Promise<P>,
  entries: (page: P) => readonly E[],
): AsyncGenerator<E> {
  let token: string | undefined;
  do {
    const page = await ask(token);
    yield* entries(page);
    token = page.next_page_token;
  } while (token !== undefined);
}
