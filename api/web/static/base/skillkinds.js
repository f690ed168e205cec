// The sorts of shot, as pages write them.

const kinds = {
  chip_and_run: "Chip and run", pitch: "Pitch", bunker_shot: "Bunker shot", lob: "Lob", lag_putt: "Lag putt", short_putt: "Short putt", own: "The coach's own",
};

/** skillKinds in the order they are offered. */
export const skillKinds = Object.entries(kinds);

/** skillKindName is the sort of shot as a label. */
export const skillKindName = (kind) => kinds[kind] ?? kind;
