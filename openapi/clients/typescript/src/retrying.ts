// Asks again where that can do no harm, and no sooner than the service wants.
import { randomUUID } from "node:crypto";

export interface RetryOptions {
  /** How often a request is sent at most; 5 if not given. */
  attempts?: number;
  /** Seconds; a longer pause is left to the caller. 60 if not given. */
  longestPause?: number;
}

const BUSY = new Set([429, 503]); // refused before anything was done
const UNKNOWN = new Set([502, 504]); // it may have been done
const ONCE = ["/v1/keys", "/rotate", "/replay"]; // posts to these do something anew each time

export function retrying({ attempts = 5, longestPause = 60 }: RetryOptions): (request: Request) => Promise<Response> {
  return async (request) => {
    const path = new URL(request.url).pathname;
    if (request.method === "POST" && path === "/v1/jobs" && !request.headers.has("Idempotency-Key")) {
      request.headers.set("Idempotency-Key", randomUUID()); // so that asking again makes no second job
    }
    const repeatable = request.method !== "POST" || !ONCE.some((end) => path.endsWith(end));
    for (let attempt = 1; ; attempt += 1) {
      const last = attempt >= attempts;
      let pause = 0.5 * 2 ** (attempt - 1) * (0.8 + 0.4 * Math.random());
      try {
        const response = await fetch(request.clone());
        const again = BUSY.has(response.status) || (UNKNOWN.has(response.status) && repeatable);
        pause = askedPause(response.headers.get("Retry-After")) ?? pause;
        if (last || !again || pause > longestPause) return response;
        await response.body?.cancel();
      } catch (error) {
        if (last || !repeatable) throw error;
      }
      await new Promise((wake) => setTimeout(wake, pause * 1000));
    }
  };
}

/** Seconds of a `Retry-After`, as a number or a date (RFC 9110, 10.2.3). */
function askedPause(text: string | null): number | undefined {
  if (text === null) return undefined;
  if (/^\d+$/.test(text.trim())) return Number(text);
  const at = Date.parse(text);
  return Number.isNaN(at) ? undefined : Math.max(0, (at - Date.now()) / 1000);
}
