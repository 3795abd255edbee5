import { loopShare } from "./processor-share.ts";

self.postMessage(loopShare());
