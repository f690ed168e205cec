// The reasons to look at a student, as the desk writes them.

const reasons = {
  lapsed: "Not practising", unstarted: "Joined, not started", uncoached: "No coach",
  slipping: "Getting worse", flat: "Not improving", overreached: "Next step out of reach",
  ending: "Programme ends", unplanned: "No programme", lopsided: "Time far from the plan", outgrown: "Too easy",
};

/** stallReasons are the reasons to look at a student, most urgent first. */
export const stallReasons = Object.keys(reasons);

/** reasonName is a reason as a heading. */
export const reasonName = (reason) => reasons[reason] ?? reason;

/** reasonText says a reason with the skill that it is about: "Not improving, Pitch". */
export const reasonText = (reason) => `${reasonName(reason.reason)}${reason.skill_name ? `, ${reason.skill_name}` : ""}`;
