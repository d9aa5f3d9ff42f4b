"use strict";
(() => {
  const source = document.getElementById("trial-data");
  const section = document.getElementById("trial");
  if (!source || !section) return;
  const data = JSON.parse(source.textContent);
  const find = (id) => document.getElementById(id);

  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  for (const wave of data.waves) wave.values = new Int16Array(bytes(wave.values));
  for (const node of data.nodes) {
    node.moments = new Float64Array(bytes(node.moments));
    node.beyond = new Float32Array(bytes(node.beyond));
  }

  /* L1 at 0°, L2 at −120°, L3 at +120°; current that flows in the neutral only is in the common frame. */
  const half = Math.sqrt(3) / 2;
  const direction = [[1, 0], [-0.5, -half], [-0.5, half], [1, 0]];

  /* Currents of one node when each unit has the given turn: rms from the second moments, maxima from the chosen
     intervals. For the present allocation and for the plan they are those of the result. */
  function figures(node, turns) {
    const phases = node.slots.map(([, unit, position]) => (
      position === 3 ? 3 : (position + (unit < 0 ? 0 : turns[unit])) % 3
    ));
    const squares = [...node.unresolved];
    let neutral = node.beyondMeanSquare;
    let next = 0;
    for (let first = 0; first < phases.length; first += 1) {
      const a = phases[first];
      for (let second = first; second < phases.length; second += 1) {
        const b = phases[second];
        const re = node.moments[next];
        const im = node.moments[next + 1];
        next += 2;
        const twice = first === second ? 1 : 2;
        if (a === b && a < 3) squares[a] += twice * re;
        const [ar, ai] = direction[a];
        const [br, bi] = direction[b];
        const turnRe = ar * br + ai * bi;
        const turnIm = ar * bi - ai * br;
        neutral += twice * (turnRe * re - turnIm * im);
      }
    }
    const most = [0, 0, 0, 0];
    const when = [-1, -1, -1, -1];
    const count = data.times.length;
    const re = [0, 0, 0, 0];
    const im = [0, 0, 0, 0];
    for (let i = 0; i < count; i += 1) {
      re.fill(0);
      im.fill(0);
      for (let s = 0; s < phases.length; s += 1) {
        const wave = data.waves[node.slots[s][0]];
        re[phases[s]] += wave.step * wave.values[2 * i];
        im[phases[s]] += wave.step * wave.values[2 * i + 1];
      }
      let sumRe = 0;
      let sumIm = 0;
      for (let k = 0; k < 4; k += 1) {
        sumRe += direction[k][0] * re[k] - direction[k][1] * im[k];
        sumIm += direction[k][0] * im[k] + direction[k][1] * re[k];
      }
      const beyond = node.beyond.length ? node.beyond[i] : 0;
      const values = [
        Math.hypot(re[0], im[0]), Math.hypot(re[1], im[1]), Math.hypot(re[2], im[2]),
        Math.hypot(sumRe, sumIm, beyond),
      ];
      for (let k = 0; k < 4; k += 1) {
        if (values[k] > most[k]) {
          most[k] = values[k];
          when[k] = i;
        }
      }
    }
    const rms = [...squares, neutral].map((square) => Math.sqrt(Math.max(square, 0)));
    const known = isAt(turns, now) ? node.now : isAt(turns, best) ? node.plan : null;
    if (!known) return { rms, most, when };
    return {
      rms: [...known.phaseRms, known.neutralRms],
      most: [...known.phaseMax, known.neutralMax],
      when,
    };
  }

  const now = data.units.every((unit) => unit.now !== null) ? data.units.map((unit) => unit.now) : null;
  const best = data.units.map((unit) => unit.plan);
  const isAt = (turns, known) => known !== null && known.every((turn, unit) => turn === turns[unit]);
  const history = [];
  let turns = [...(now ?? best)];

  const names = ["L1", "L2", "L3", "N"];
  const amps = (value) => value.toFixed(1);
  /* By more than the rounding of sums, as in the program. */
  const isAbove = (value, limit) => limit !== null && value > limit * (1 + 1e-9);
  const limitOf = (node, k) => (k < 3 ? node.phaseLimit : node.neutralLimit);
  const choice = (unit, turn) => unit.choices.find((option) => option.turn === turn);
  const counted = (n, one, several) => `${n} ${n === 1 ? one : several}`;

  function changes() {
    return data.units.flatMap((unit, index) => {
      if (unit.now === turns[index]) return [];
      const from = unit.now === null ? null : choice(unit, unit.now);
      return [{ unit, from, to: choice(unit, turns[index]) }];
    });
  }

  const moves = () =>
    changes().reduce((sum, change) => sum + (change.from ? change.unit.moves : 0), 0);

  function showFigures(trial, before) {
    const node = data.nodes[Number(find("trial-node").value)];
    const rows = find("trial-figures").rows;
    for (let k = 0; k < 4; k += 1) {
      const cells = rows[k].cells;
      const limit = limitOf(node, k);
      [before?.rms[k], trial.rms[k], before?.most[k], trial.most[k]].forEach((value, place) => {
        const cell = cells[place + 1];
        cell.textContent = value === undefined ? "–" : amps(value);
        cell.dataset.amps = value ?? "";
      });
      cells[4].title = trial.when[k] < 0 ? "" : data.times[trial.when[k]];
      const bar = cells[5].querySelector(".trial-bar");
      const over = isAbove(trial.most[k], limit);
      bar.hidden = limit === null;
      bar.classList.toggle("over", over);
      if (limit !== null) bar.firstChild.style.width = `${Math.min(100, (100 * trial.most[k]) / limit)}%`;
      cells[5].querySelector(".trial-limit").textContent = limit === null
        ? "no limit given"
        : `${Math.round((100 * trial.most[k]) / limit)} % of ${limit} A${over ? ", over" : ""}`;
    }
  }

  function unbalance(rms) {
    const mean = (rms[0] + rms[1] + rms[2]) / 3;
    if (!(mean > 0)) return "";
    const most = Math.max(...rms.slice(0, 3).map((value) => Math.abs(value - mean)));
    return ` Current unbalance (rms) ${amps((100 * most) / mean)} %.`;
  }

  function overLimits(all) {
    return data.nodes.flatMap((node, n) => names.flatMap((name, k) => {
      const limit = limitOf(node, k);
      const value = all[n].most[k];
      return isAbove(value, limit)
        ? [`${name} at ${node.id} ${amps(value)} A (limit ${limit} A)`]
        : [];
    }));
  }

  function say(all, before) {
    const supply = all[0];
    const over = overLimits(all);
    const was = before ? ` (now ${amps(before[0].rms[3])} A)` : "";
    find("trial-says").textContent =
      `${counted(moves(), "move", "moves")}. Neutral at the supply ${amps(supply.rms[3])} A rms${was}. `
      + (over.length ? `Over the limit: ${over.join("; ")}.` : "Every limit shown here is kept.")
      + unbalance(supply.rms);
  }

  function show() {
    const all = data.nodes.map((node) => figures(node, turns));
    const before = now ? data.nodes.map((node) => figures(node, now)) : undefined;
    const n = Number(find("trial-node").value);
    showFigures(all[n], before?.[n]);
    say(all, before);
    for (const row of section.querySelectorAll("tr[data-unit]")) {
      const index = Number(row.dataset.unit);
      const unit = data.units[index];
      for (const input of row.querySelectorAll("input")) input.checked = Number(input.value) === turns[index];
      const changed = unit.now !== null && unit.now !== turns[index];
      row.classList.toggle("changed", changed);
      row.querySelector(".trial-change").textContent = unit.now === null
        ? "to be connected"
        : changed ? `from ${choice(unit, unit.now).connections[0]}` : "";
    }
    const plan = data.plans.find((other) => other.turns.every((turn, index) => turn === turns[index]));
    const pick = find("trial-moves");
    if (pick) pick.value = plan ? String(plan.moves) : "";
    find("trial-undo").disabled = history.length === 0;
    find("trial-print").disabled = changes().length === 0;
    find("trial-done").textContent = "";
    address.set("board", now && isAt(turns, now) ? "" : turns.join(""));
  }

  function change(next) {
    if (next.every((turn, index) => turn === turns[index])) return;
    history.push(turns);
    turns = [...next];
    show();
  }

  const lines = () => changes().map(({ unit, from, to }) => {
    const what = unit.circuit === null
      ? unit.names.join(", ")
      : `whole circuit ${unit.circuit} (${unit.names.join(", ")})`;
    const way = from ? `from ${from.connections[0]} to ${to.connections[0]}` : `to ${to.connections[0]}`;
    return `${what}, at ${unit.at}: ${way}`;
  });

  const caution = "For a competent person: isolate, lock off, prove dead; move the neutral of a circuit with its line "
    + "conductor; check phase rotation; retest; update the circuit chart.";

  async function copy() {
    const text = [find("trial-says").textContent, ...lines(), caution].join("\n");
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      const area = document.createElement("textarea");
      area.value = text;
      document.body.append(area);
      area.select();
      document.execCommand("copy");
      area.remove();
      find("trial-copy").focus();
    }
    find("trial-done").textContent = `Copied: ${counted(lines().length, "change", "changes")}.`;
  }

  function changedList() {
    const { rows, separator } = data.list;
    const column = rows[0].findIndex((name) => name.trim() === "connection");
    const list = rows.map((row) => [...row]);
    for (const { unit, to } of changes()) {
      unit.machines.forEach((machine, place) => {
        const word = to.connections[place];
        if (!word.startsWith("3ph")) list[machine + 1][column] = word;
      });
    }
    const cell = (text) =>
      text.includes(separator) || /["\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
    return `${list.map((row) => row.map(cell).join(separator)).join("\n")}\n`;
  }

  function save() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([changedList()], { type: "text/csv" }));
    link.download = "machines.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    const circuits = changes().filter(({ unit }) => unit.circuit !== null);
    const turned = changes().some(({ to }) => to.connections[0].startsWith("3ph"));
    find("trial-done").textContent = "Downloaded: machines.csv."
      + circuits.map(({ unit, to }) =>
        ` In site.toml, set phases = "${to.connections[0]}" for circuit ${unit.circuit}.`).join("")
      + (turned ? " The list cannot record the phase shift of a three-phase machine; note it on the circuit chart." : "");
  }

  /* The boxes are filled in at the board. */
  function print() {
    const order = find("trial-order");
    order.querySelector(".order-says").textContent = find("trial-says").textContent;
    order.querySelector("tbody").replaceChildren(...changes().map(({ unit, from, to }, index) => {
      const row = document.createElement("tr");
      const what = unit.circuit === null ? unit.names.join(", ") : `circuit ${unit.circuit}: ${unit.names.join(", ")}`;
      for (const text of [index + 1, what, unit.at, from?.connections[0] ?? "not connected", to.connections[0]]) {
        row.insertCell().textContent = text;
      }
      for (let box = 0; box < 3; box += 1) row.insertCell().className = box < 2 ? "tick" : "write";
      return row;
    }));
    order.hidden = false;
    document.body.classList.add("prints-order");
    addEventListener("afterprint", () => {
      document.body.classList.remove("prints-order");
      order.hidden = true;
    }, { once: true });
    window.print();
  }

  /* The allocation that the address holds, if it is one of this board. */
  function fromAddress() {
    const digits = address.get("board");
    if (!digits) return;
    const next = [...digits].map(Number);
    const fits = next.length === data.units.length && data.units.every((unit, index) => choice(unit, next[index]));
    if (fits) turns = next;
    else find("trial-done").textContent = "The address holds an allocation of another board: the present one is shown.";
    return !fits;
  }

  section.addEventListener("change", (event) => {
    const row = event.target.closest("tr[data-unit]");
    if (row) {
      const next = [...turns];
      next[Number(row.dataset.unit)] = Number(event.target.value);
      change(next);
    } else if (event.target.id === "trial-node") {
      show();
    } else if (event.target.id === "trial-moves" && event.target.value !== "") {
      change(data.plans.find((plan) => plan.moves === Number(event.target.value)).turns);
    }
  });
  find("trial-now")?.addEventListener("click", () => change(now));
  find("trial-best").addEventListener("click", () => change(best));
  find("trial-undo").addEventListener("click", () => {
    turns = history.pop() ?? turns;
    show();
  });
  find("trial-print").addEventListener("click", print);
  find("trial-copy").addEventListener("click", copy);
  find("trial-save").addEventListener("click", save);
  section.hidden = false;
  const wasOther = fromAddress();
  const words = find("trial-done").textContent;
  show();
  if (wasOther) find("trial-done").textContent = words;
})();
