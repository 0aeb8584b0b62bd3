/* The tables of cases that the program's Python and its scripts are both held to. */

import { readFileSync } from "node:fs";

export const casesOf = (name) => JSON.parse(readFileSync(new URL(`../cases/${name}.json`, import.meta.url), "utf8"));
