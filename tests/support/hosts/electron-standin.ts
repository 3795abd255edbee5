import { EventEmitter } from "node:events";

// Stands in for the module "electron" where its program can't run: records what the built main and preload do with it,
// and carries calls between them through structuredClone, as IPC does.

type Handler = (event: unknown, ...args: unknown[]) => unknown;

export interface StandinFrame {
  readonly url: string;
  readonly parent: unknown;
}

export interface StandinPlaces {
  readonly userData: string;
  readonly documents: string;
}

export class WebContents extends EventEmitter {
  readonly #toRenderer: EventEmitter;
  windowOpenHandler: (() => unknown) | undefined;
  reloads = 0;

  constructor(toRenderer: EventEmitter) {
    super();
    this.#toRenderer = toRenderer;
  }
  setWindowOpenHandler(handler: () => unknown): void {
    this.windowOpenHandler = handler;
  }
  send(channel: string, detail: unknown): void {
    this.#toRenderer.emit(channel, { sender: "secret" }, structuredClone(detail));
  }
  reload(): void {
    this.reloads++;
  }
}

/** What the built program did with the module, and what it is told when it asks. */
export interface StandinRecord {
  readonly calls: Map<string, Handler>;
  readonly protocols: Map<string, (request: Request) => Promise<Response>>;
  readonly exposed: Map<string, unknown>;
  readonly privileges: unknown[];
  readonly windowOptions: Record<string, unknown>[];
  readonly loaded: string[];
  readonly contents: WebContents[];
  readonly recentDocuments: string[];
  readonly exitCodes: number[];
  readonly session: EventEmitter;
  sandboxed: boolean;
  permissionRequest: ((...args: unknown[]) => void) | undefined;
  permissionCheck: ((...args: unknown[]) => boolean) | undefined;
  devicePermission: (() => boolean) | undefined;
  /** Where calls of the preload seem to come from; null: the frame is gone. */
  senderFrame: StandinFrame | null;
  openDialog: { canceled: boolean; filePaths: string[] };
  saveDialog: { canceled: boolean; filePath: string };
}

export interface ElectronStandin {
  /** Stands for the module; only what tests reach for is named. */
  readonly electron: Readonly<Record<string, unknown>> & {
    readonly app: EventEmitter;
    readonly ipcRenderer: EventEmitter;
  };
  readonly record: StandinRecord;
}

export function electronStandin(places: StandinPlaces): ElectronStandin {
  const calls = new Map<string, Handler>();
  const protocols = new Map<string, (request: Request) => Promise<Response>>();
  const toRenderer = new EventEmitter();
  const exposed = new Map<string, unknown>();
  const record: StandinRecord = {
    calls,
    protocols,
    exposed,
    privileges: [],
    windowOptions: [],
    loaded: [],
    contents: [],
    recentDocuments: [],
    exitCodes: [],
    session: new EventEmitter(),
    sandboxed: false,
    permissionRequest: undefined,
    permissionCheck: undefined,
    devicePermission: undefined,
    senderFrame: { url: "app://halation/", parent: null },
    openDialog: { canceled: true, filePaths: [] },
    saveDialog: { canceled: true, filePath: "" },
  };
  const app = Object.assign(new EventEmitter(), {
    isPackaged: false,
    whenReady: () => Promise.resolve(),
    enableSandbox: () => {
      record.sandboxed = true;
    },
    requestSingleInstanceLock: () => true,
    getPath: (name: keyof StandinPlaces) => places[name],
    addRecentDocument: (path: string) => record.recentDocuments.push(path),
    commandLine: { appendSwitch: () => undefined },
    quit: () => record.exitCodes.push(0),
    exit: (code: number) => record.exitCodes.push(code),
  });

  class BrowserWindow extends EventEmitter {
    readonly webContents = new WebContents(toRenderer);
    constructor(options: Record<string, unknown>) {
      super();
      record.windowOptions.push(options);
      record.contents.push(this.webContents);
      app.emit("web-contents-created", {}, this.webContents);
    }
    loadURL(url: string): Promise<void> {
      record.loaded.push(url);
      return Promise.resolve();
    }
    show(): void {}
    focus(): void {}
    restore(): void {}
    isMinimized(): boolean {
      return false;
    }
  }

  const session = Object.assign(record.session, {
    setPermissionRequestHandler: (handler: (...args: unknown[]) => void) => {
      record.permissionRequest = handler;
    },
    setPermissionCheckHandler: (handler: (...args: unknown[]) => boolean) => {
      record.permissionCheck = handler;
    },
    setDevicePermissionHandler: (handler: () => boolean) => {
      record.devicePermission = handler;
    },
  });

  const electron = {
    app,
    BrowserWindow,
    Menu: { setApplicationMenu: () => undefined, buildFromTemplate: (template: unknown) => template },
    dialog: {
      showOpenDialog: () => Promise.resolve(record.openDialog),
      showSaveDialog: () => Promise.resolve(record.saveDialog),
    },
    session: { defaultSession: session },
    protocol: {
      registerSchemesAsPrivileged: (schemes: unknown[]) => record.privileges.push(...schemes),
      handle: (scheme: string, handler: (request: Request) => Promise<Response>) => protocols.set(scheme, handler),
    },
    ipcMain: { handle: (channel: string, handler: Handler) => calls.set(channel, handler) },
    ipcRenderer: Object.assign(toRenderer, {
      async invoke(channel: string, ...args: unknown[]): Promise<unknown> {
        const handler = calls.get(channel);
        if (handler === undefined) throw new Error(`nothing answers ${channel}`);
        return structuredClone(await handler({ senderFrame: record.senderFrame }, ...structuredClone(args)));
      },
    }),
    contextBridge: { exposeInMainWorld: (name: string, value: unknown) => exposed.set(name, value) },
  };
  return { electron, record };
}
