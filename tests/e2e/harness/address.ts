/** Where the page with the two views alone is served; another port lets two checkouts run their browser tests at once. */
export const HARNESS_PORT = Number(process.env["HALATION_HARNESS_PORT"] ?? 4179);
export const HARNESS_ADDRESS = `http://127.0.0.1:${HARNESS_PORT}`;
