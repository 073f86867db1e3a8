// Writes schedule/testdata/fsrs.json: what ts-fsrs of the npm registry makes of
// histories of answers. Each history has its own weights (the default ones, or
// drawn from around them), and of each answer the days since the one before, the
// grade, the chance to remember just before it, and stability and difficulty
// after it. After the last answer stand the days until 95, 90, 80 and 70 % are
// left. The draws are seeded, so that the same file comes out again.
//
//   npm ci && node make.js > ../../schedule/testdata/fsrs.json
import { readFileSync } from "node:fs";
import { CLAMP_PARAMETERS, FSRSAlgorithm, W17_W18_Ceiling, default_w } from "ts-fsrs";

let seed = 20261128;
// random is a number from 0 up to 1 (a 32-bit xorshift).
function random() {
  seed ^= seed << 13;
  seed ^= seed >>> 17;
  seed ^= seed << 5;
  return (seed >>> 0) / 2 ** 32;
}
const pick = (list) => list[Math.floor(random() * list.length)];

const bounds = CLAMP_PARAMETERS(W17_W18_Ceiling);
// around draws weights between three quarters and five quarters of the default
// ones, held within the bounds. First stabilities below 0.1 are left out: the
// library raises them, which the published rule does not.
function around() {
  return default_w.map((w, i) => {
    const [low, high] = i < 4 ? [0.1, 100] : bounds[i];
    return Number(Math.min(high, Math.max(low, w * (0.75 + random() / 2))).toFixed(4));
  });
}

function history(w) {
  const algorithm = new FSRSAlgorithm({ w, enable_fuzz: false });
  let memory = null;
  const answers = [];
  for (let i = 0, n = 3 + Math.floor(random() * 12); i < n; i++) {
    const days = i === 0 ? 0 : pick([0, 1, 2, 3, 6, 6, 12, 30, 91, 180, 400]);
    const grade = pick([1, 2, 3, 3, 3, 4]);
    const recall = memory ? algorithm.forgetting_curve(days, memory.stability) : 0;
    memory = algorithm.next_state(memory, days, grade);
    answers.push([days, grade, recall, memory.stability, memory.difficulty]);
  }
  const intervals = [0.95, 0.9, 0.8, 0.7].map((retention) => {
    const at = new FSRSAlgorithm({ w, enable_fuzz: false, request_retention: retention });
    return [retention, at.next_interval(memory.stability, 0)];
  });
  return { w, answers, intervals };
}

const rows = [];
for (let i = 0; i < 120; i++) rows.push(history([...default_w]));
for (let i = 0; i < 120; i++) rows.push(history(around()));
const version = JSON.parse(readFileSync("node_modules/ts-fsrs/package.json")).version;
process.stdout.write(JSON.stringify({ "ts-fsrs": version, rows }).replaceAll('{"w"', '\n{"w"') + "\n");
