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

class WebContents extends EventEmitter {
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

export function electronStandin(places: StandinPlaces) {
  const calls = new Map<string, Handler>();
  const protocols = new Map<string, (request: Request) => Promise<Response>>();
  const toRenderer = new EventEmitter();
  const exposed = new Map<string, unknown>();
  const record = {
    calls,
    protocols,
    exposed,
    privileges: [] as unknown[],
    windowOptions: [] as Record<string, unknown>[],
    loaded: [] as string[],
    contents: [] as WebContents[],
    recentDocuments: [] as string[],
    exitCodes: [] as number[],
    sandboxed: false,
    permissionRequest: undefined as ((...args: unknown[]) => void) | undefined,
    permissionCheck: undefined as ((...args: unknown[]) => boolean) | undefined,
    devicePermission: undefined as (() => boolean) | undefined,
    session: new EventEmitter(),
    /** Where calls of the preload seem to come from; null: the frame is gone. */
    senderFrame: { url: "app://halation/", parent: null } as StandinFrame | null,
    openDialog: { canceled: true, filePaths: [] as string[] },
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

export type ElectronStandin = ReturnType<typeof electronStandin>;
