// Each feed that the program writes is read by two readers of the npm registry
// that share no code, and both have to find the same events in it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import ICAL from "ical.js";
import nodeICAL from "node-ical";

const byId = (a, b) => (a.uid < b.uid ? -1 : 1);

function first(text) {
  const feed = new ICAL.Component(ICAL.parse(text));
  return feed
    .getAllSubcomponents("vevent")
    .map((e) => new ICAL.Event(e))
    .map((e) => ({ uid: e.uid, title: e.summary, start: +e.startDate.toJSDate(), end: +e.endDate.toJSDate() }))
    .sort(byId);
}

function second(text) {
  return Object.values(nodeICAL.sync.parseICS(text))
    .filter((e) => e.type === "VEVENT")
    .map((e) => ({ uid: e.uid, title: e.summary, start: +e.start, end: +e.end }))
    .sort(byId);
}

for (const file of process.env.FEEDS.split(":")) {
  test(file.split("/").pop(), () => {
    const text = readFileSync(file, "utf8");
    const events = first(text);
    assert.equal(events.length, text.split("BEGIN:VEVENT").length - 1);
    assert.ok(events.length > 20);
    assert.deepEqual(events, second(text));
    for (const e of events) assert.ok(e.end > e.start, e.uid);
  });
}
