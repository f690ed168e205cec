/** What the job uses of Node. */
declare const process: { argv: string[] };
