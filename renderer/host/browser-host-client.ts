import { HOST_METHODS, type HostContract, type HostEvents, type WindowHost } from "../../core/host-contract.ts";
import { decodeFrame, encodeFrame } from "../../core/host-frame.ts";
import { failure, type Result } from "../../core/model/result.ts";

const CONTENT_TYPE = "application/x-halation-frame";

/** A one-time token in the address becomes a session, and leaves the address: a reload goes by the cookie. */
async function takeToken(): Promise<void> {
  const token = new URLSearchParams(location.hash.slice(1)).get("token");
  if (token === null) return;
  history.replaceState(null, "", location.pathname);
  await fetch("api/session", {
    method: "POST",
    headers: { "Content-Type": CONTENT_TYPE },
    body: encodeFrame(token),
  });
}

async function call(method: string, args: readonly unknown[]): Promise<Result<unknown>> {
  let response: Response;
  try {
    response = await fetch(`api/${method}`, {
      method: "POST",
      headers: { "Content-Type": CONTENT_TYPE },
      body: encodeFrame(args),
    });
  } catch {
    // fetch rejects only where no answer came at all.
    return failure("unreadable", "the program behind this window does not answer: start it again");
  }
  if (response.status === 401)
    return failure("unreadable", "this window's session is over: open it by a new address from the terminal");
  // Any other refusal means that window and host disagree about the contract: our bug.
  if (!response.ok) throw new TypeError(`${method}: ${(await response.text()).trim()}`);
  const answer = decodeFrame(new Uint8Array(await response.arrayBuffer()));
  return answer.ok ? (answer.value as Result<unknown>) : answer;
}

/**
 * The host contract over the local server that served this page.
 *
 * @param windowId tells the server whose stream it is: when it ends, the window's session is free
 */
export async function connectBrowserHost(windowId: string): Promise<WindowHost> {
  await takeToken();
  const methods = Object.fromEntries(
    HOST_METHODS.map((method) => [method, (...args: unknown[]) => call(method, args)]),
  ) as unknown as HostContract;
  // Open from the start, wanted events or not: the server takes a window without a stream for closed.
  const stream = new EventSource(`api/events?window=${windowId}`);
  return {
    ...methods,
    on<E extends keyof HostEvents>(event: E, listener: (detail: HostEvents[E]) => void): () => void {
      const hear = (message: MessageEvent<string>) => listener(JSON.parse(message.data) as HostEvents[E]);
      stream.addEventListener(event, hear);
      return () => stream.removeEventListener(event, hear);
    },
  };
}
