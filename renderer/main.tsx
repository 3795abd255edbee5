// First, so that the worker loads while the rest does.
import "./worker/start-worker.ts";

import "./style/tokens.css";
import "./app/window.css";
import "./beam-stop/beam-stop.css";
import { createRoot } from "react-dom/client";
import { App } from "./app/app.tsx";
import { createApplication } from "./app/application.ts";
import { prepareGraphics } from "./frame/frame-canvas.ts";
import { getHost } from "./host/index.ts";

const place = document.getElementById("root");
if (place === null) throw new TypeError("the page has no place for the window");

const application = createApplication(await getHost());
createRoot(place).render(<App application={application} />);
void prepareGraphics();
await application.start();
