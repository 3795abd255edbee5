import { readWindowFile, SECURITY_HEADERS } from "../services/window-files.ts";
import { isOurAddress } from "./window-origin.ts";

/** Answers requests of the window's scheme with the files of the built window. */
export function windowServer(windowFolder: string): (request: Request) => Promise<Response> {
  return async (request) => {
    if (!isOurAddress(request.url)) return refusal(404);
    if (request.method !== "GET" && request.method !== "HEAD") return refusal(405);
    const file = await readWindowFile(windowFolder, new URL(request.url).pathname);
    if (file.status !== 200) return refusal(file.status);
    return new Response(request.method === "HEAD" ? null : file.bytes, {
      headers: { ...SECURITY_HEADERS, "Content-Type": file.type },
    });
  };
}

function refusal(status: number): Response {
  return new Response(null, { status, headers: { ...SECURITY_HEADERS } });
}
