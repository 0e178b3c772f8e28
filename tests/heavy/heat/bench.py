"""Times coldstep's heat analysis against general libraries, on the same numbers, in one run.

Reads what `COLDSTEP_HEAT_EXPORT=DIR cargo bench --bench heat` wrote: matrix and ties of the new plate of
benches/twelve-parts.toml, its few numbers, inputs of some draws with our answers, and our own times.
Everything is checked to be the same before it is timed. One thread: run.sh sets it for every library.
"""

import json
import pathlib
import statistics
import sys
import time

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spl

FULL_DRAWS = 40
"""Draws that are solved in full; the time of all is these by extrapolation."""


def median_ms(run, times=9):
    all_ms = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        all_ms.append(1e3 * (time.perf_counter() - start))
    return statistics.median(all_ms)


def main(folder):
    facts = json.loads((folder / "facts.json").read_text())
    parts, pipes, nodes = facts["parts"], facts["pipes"], facts["nodes"]
    draws = facts["draws_written"]

    def read(name, *shape):
        return np.fromfile(folder / f"{name}.f64").reshape(shape)

    row, col, val = read("matrix", -1, 3).T
    row, col = row.astype(int), col.astype(int)
    lower = sp.coo_matrix((val, (row, col)), shape=(nodes, nodes))
    matrix = (lower + sp.tril(lower, -1).T).tocsc()
    port, node, conductance, area, gap, filling = read("ties", -1, 6).T
    port, node = port.astype(int), node.astype(int)
    loads = np.zeros((nodes, parts + pipes))
    np.add.at(loads, (node, port), conductance)

    # --- the plate's answers
    flows = read("flows", parts + pipes, parts + pipes)

    def answers(factor):
        fields = factor.solve(loads)
        return np.diag(loads.sum(axis=0)) - loads.T @ fields

    orders = {
        # What splu does when nothing is said, and what its manual recommends for symmetric matrices.
        "default (COLAMD)": {},
        "symmetric (MMD on A'+A)": dict(
            permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True)
        ),
    }
    print(f"{nodes} nodes, {parts} parts, {pipes} pipes, cells of {facts['cell_mm']} mm; medians, one thread\n")
    print(f"{'':44} {'factorise':>10} {'and all ports':>14}")
    print(f"{'coldstep':44} {facts['factorise_ms']:7.1f} ms {facts['answers_ms']:11.1f} ms")
    best = None
    for name, how in orders.items():
        worst = np.abs(answers(spl.splu(matrix, **how)) - flows).max() / np.abs(flows).max()
        assert worst < 1e-9, worst
        factorise_ms = median_ms(lambda: spl.splu(matrix, **how))
        all_ms = median_ms(lambda: answers(spl.splu(matrix, **how)))
        print(
            f"{'scipy splu, ' + name:44} {factorise_ms:7.1f} ms {all_ms:11.1f} ms"
            f"   {factorise_ms / facts['factorise_ms']:.1f} and {all_ms / facts['answers_ms']:.1f} times ours"
        )
        if best is None or all_ms < best[0]:
            best = (all_ms, how)
    all_ms = median_ms(lambda: [spl.spsolve(matrix, load) for load in loads.T], times=3)
    print(
        f"{'scipy spsolve, port by port':44} {'':10} {all_ms:11.1f} ms   {'':3} {all_ms / facts['answers_ms']:.1f} times ours"
    )
    print("all answers agree with ours to 1e-9 of the largest\n")

    # --- the draws: the same few equations, batched
    by_part = read("draw_parts", draws, parts, 10)
    by_pipe = read("draw_pipes", draws, pipes, 4)
    inside = read("draw_inside", draws, parts)
    rise, follows, between = read("rise", parts, parts), read("follows", parts, pipes), read("between", pipes, pipes)
    changes = read("changes", parts + pipes, parts * parts + parts * pipes + pipes * pipes)

    def few_equations(by_part, by_pipe):
        heat, inside_k_w, change, board, to_board = np.moveaxis(by_part[:, :, :5], 2, 0)
        resistance, other, joint, _ = np.moveaxis(by_pipe, 2, 0)
        slope, base = resistance + joint, resistance * other
        count = len(heat)
        more = np.concatenate([change, joint], axis=1) @ changes
        cut = parts * parts, parts * parts + parts * pipes
        rises = rise + more[:, : cut[0]].reshape(count, parts, parts)
        following = follows + more[:, cut[0] : cut[1]].reshape(count, parts, pipes)
        among = between + more[:, cut[1] :].reshape(count, pipes, pipes)
        back = following.transpose(0, 2, 1)
        gain = np.linalg.inv(np.eye(pipes) + slope[:, :, None] * among)
        floor = (gain @ base[:, :, None])[:, :, 0]
        warmed = gain @ (slope[:, :, None] * back)
        system = rises + following @ warmed
        diagonal = np.arange(parts)
        system[:, diagonal, diagonal] += inside_k_w + to_board
        side = board + to_board * heat - (following @ floor[:, :, None])[:, :, 0]
        into = np.linalg.solve(system, side[:, :, None])[:, :, 0]
        pipe_ports = (warmed @ into[:, :, None])[:, :, 0] + floor
        top = (rises @ into[:, :, None] + following @ pipe_ports[:, :, None])[:, :, 0]
        return top + into * inside_k_w

    def in_batches(size=2000):
        return np.concatenate(
            [few_equations(by_part[i : i + size], by_pipe[i : i + size]) for i in range(0, draws, size)]
        )

    worst = np.abs(in_batches() - inside).max()
    assert worst < 1e-8, worst
    # Both plates are drawn, and ours draws its random numbers and fills in the pads too.
    numpy_ms = min(median_ms(lambda size=size: in_batches(size), times=3) for size in (500, 2000, 10000))
    numpy_ms *= 2 * facts["draws"] / draws
    ours = facts["draws_one_thread_ms"]
    print(f"{facts['draws']} draws of two plates, one thread")
    print(f"{'coldstep, inputs drawn too':44} {ours:9.0f} ms   ({facts['draws_all_threads_ms']:.0f} ms on {facts['threads']} threads)")
    print(f"{'numpy, batched, inputs given':44} {numpy_ms:9.0f} ms   {numpy_ms / ours:.1f} times ours")

    # --- the draws in full: every tie changed, factorised and solved again
    def resistance_mm2k_w(part, gap_mm):
        conducts, contact, thick, least = part[5:9]
        pressed = np.minimum(np.maximum(gap_mm, least), thick)
        return contact + 1000 * pressed / conducts + 1000 * np.maximum(gap_mm - thick, 0) / facts["air_w_mk"]

    def full(draw, how):
        """Nodes and ports at once: parts with their way to the board, pipes with theirs to the air."""
        now = filling.copy()
        for number in range(parts):
            mine = port == number
            now[mine] = resistance_mm2k_w(by_part[draw, number], gap[mine] + by_part[draw, number, 9])
        for number in range(pipes):
            now[port == parts + number] += by_pipe[draw, number, 3]
        tie = 1 / (1 / conductance + (now - filling) / area)
        changed = np.bincount(node, tie - conductance, nodes)
        heat, inside_k_w, _, board, to_board = by_part[draw, :, :5].T
        to_air, other = by_pipe[draw, :, 0], by_pipe[draw, :, 1]
        way = np.concatenate([1 / (inside_k_w + to_board), 1 / to_air])
        side = np.concatenate([np.zeros(nodes), (heat * to_board + board) / (inside_k_w + to_board), other])
        across = sp.coo_matrix((-tie, (node, port)), shape=(nodes, parts + pipes))
        ports = sp.diags(way + np.bincount(port, tie, parts + pipes))
        whole = sp.bmat([[matrix + sp.diags(changed), across], [across.T, ports]], format="csc")
        start = time.perf_counter()
        solution = spl.splu(whole, **how).solve(side)
        seconds = time.perf_counter() - start
        top = solution[nodes : nodes + parts]
        into = (heat - (top - board) / to_board) / (1 + inside_k_w / to_board)
        return top + into * inside_k_w, seconds

    worst, seconds = 0.0, []
    for draw in range(FULL_DRAWS):
        answer, took = min((full(draw, how) for how in orders.values()), key=lambda pair: pair[1])
        worst = max(worst, np.abs(answer - inside[draw]).max())
        seconds.append(took)
    full_ms = 1e3 * statistics.median(seconds) * 2 * facts["draws"]
    print(
        f"{'scipy splu, solved in full (extrapolated)':44} {full_ms:9.0f} ms   {full_ms / ours:.0f} times ours\n"
        f"  from {FULL_DRAWS} draws of the new plate at {full_ms / 2 / facts['draws']:.1f} ms, putting the matrix together not counted"
    )
    print(f"few equations against full ones in these draws: at most {worst:.4f} K apart")
    # Of second order in how much pads and pipes change: see tests/heat/heat_whatifs.rs.
    assert worst < 0.05, worst


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
