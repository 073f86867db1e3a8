// Writes schedule/testdata/cron.json: when two general-purpose cron libraries of
// the npm registry say that specs come round, over twenty years in six zones. Of
// each year it keeps the count and a digest of the moments; of the days around
// the changes of the clocks in the first years it keeps the moments themselves,
// in minutes since 1970, so that a difference can be read. It takes some minutes.
//
//   npm ci && node make.js > ../../schedule/testdata/cron.json
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { CronExpressionParser } from "cron-parser";
import { Cron } from "croner";

const zones = ["America/New_York", "Europe/London", "Australia/Lord_Howe", "Pacific/Auckland", "Africa/Cairo", "America/Phoenix"];
const specs = [
  "0 9 * * MON", "30 2 * * SUN", "30 1 * * SUN", "0 0 * * FRI", "0 8 1 * *", "0 8 13 * FRI", "0 8 */2 * MON", "0 9 31 * *",
  "15 3 29 2 *", "0 7 1 1,7 *", "0 2,14 * 3,4,10,11 SUN",
];
const first = 2026, years = 20, near = 2; // years whose changes are kept whole
const from = Date.UTC(first, 0, 1), to = Date.UTC(first + years, 0, 1);

// Each library gives a function that says the moment after another one.
const libraries = {
  croner: (spec, zone) => {
    const cron = new Cron(spec, { timezone: zone, legacyMode: true });
    return (at) => cron.nextRun(new Date(at))?.getTime();
  },
  "cron-parser": (spec, zone) => {
    let cron, last;
    return (at) => {
      if (at !== last) cron = CronExpressionParser.parse(spec, { tz: zone, currentDate: new Date(at) });
      return (last = cron.next().getTime());
    };
  },
};

function offset(zone, at) {
  const parts = Object.fromEntries(
    new Intl.DateTimeFormat("en-US", { timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric", hour: "numeric", minute: "numeric" })
      .formatToParts(new Date(at)).map((p) => [p.type, Number(p.value)]),
  );
  return Date.UTC(parts.year, parts.month - 1, parts.day, parts.hour, parts.minute) - at;
}

// changes are the days on which a zone's clocks change.
function changes(zone) {
  const days = [];
  for (let day = from; day < Date.UTC(first + near, 0, 1); day += 86_400_000) {
    if (offset(zone, day) !== offset(zone, day + 86_400_000)) days.push(day);
  }
  return days;
}

// moments lists what comes round. A library that gives a moment twice, as one
// does where the clocks go back by half an hour, is asked again a minute later,
// and the row says how often.
function moments(next) {
  const all = [];
  let stuck = 0;
  for (let at = next(from - 1000); at !== undefined && at < to; ) {
    if (all.length && at <= all[all.length - 1]) {
      stuck++;
      at = next(all[all.length - 1] + stuck * 60_000);
      continue;
    }
    all.push(at);
    at = next(at);
  }
  return [all, stuck];
}

const version = (name) => JSON.parse(readFileSync(`node_modules/${name}/package.json`)).version;
const rows = [];
for (const [library, make] of Object.entries(libraries)) {
  for (const zone of zones) {
    const days = changes(zone);
    for (const spec of specs) {
      const [all, stuck] = moments(make(spec, zone));
      const row = { library, zone, spec, stuck, years: [], near: [] };
      for (let y = first; y < first + years; y++) {
        const mine = all.filter((at) => new Date(at).getUTCFullYear() === y).map((at) => at / 60_000);
        row.years.push([mine.length, createHash("sha256").update(mine.join(",")).digest("hex").slice(0, 12)]);
      }
      row.near = all.filter((at) => days.some((d) => at >= d - 86_400_000 && at < d + 2 * 86_400_000)).map((at) => at / 60_000);
      rows.push(row);
    }
  }
}
const head = { first, croner: version("croner"), "cron-parser": version("cron-parser"), zones: process.versions.tz };
process.stdout.write(JSON.stringify({ ...head, rows }).replaceAll('{"library"', '\n{"library"') + "\n");
