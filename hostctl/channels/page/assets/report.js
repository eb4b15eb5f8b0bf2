// The report of the last run: what was found, and the way to the page that says why.
import { byId, say, show } from "./make.js";
import { hasOutcome, outcomeIsHere } from "./outcome.js";
import { sentence } from "./screen.js";

const IS_A_LOOK = "Its report would judge what was read so far. Each such verdict is a look: it spends some of the risk of a wrong one, and leaves less for the verdict in the end. The same readings looked at twice count once.";
let shown = null;

// `onAct(path, body)`: posts, and shows what was refused.
export function makeReport(onAct) {
  byId("report-make").addEventListener("click", () => onAct("/report", { run: shown.run }));
}

export function renderReport(view, geometry) {
  const { report } = view;
  shown = report;
  const isHere = outcomeIsHere(report, geometry, () => renderReport({ report: shown }, geometry));
  show("report", Boolean(report));
  if (!report) return;
  const made = report.standing === "made";
  say("report-title", `Report of run ${report.run}: ${report.study}`);
  if (isHere) say("report-says", hasOutcome() ? "" : said(report));
  show("report-links", made);
  byId("report-open").href = made ? `/reports/${report.run}` : "";
  byId("report-keep").href = made ? `/reports/${report.run}/keep` : "";
  show("report-make", report.standing === "not made" || report.standing === "failed");
  say("report-make", labelOf(report));
}

function said({ standing, complete, answer, why }) {
  switch (standing) {
    case "made": return answer;
    case "being made": return "It is being made. That takes a while, and stands in no machine’s way.";
    case "failed": return `It could not be made. ${sentence(why)}`;
    default: return complete ? "It is not made yet." : `The run ended early. ${IS_A_LOOK}`;
  }
}

function labelOf({ standing, complete }) {
  if (standing === "failed") return "Try again";
  return complete ? "Make the report" : "Make a report of what was read so far";
}
