import project from "../../package.json" with { type: "json" };

/** Version of the program, as ledgers and windows tell it. */
export const VERSION: string = project.version;
