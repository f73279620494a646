"""The arrays that the decoder reads (`Problem`) and the arrays that it changes (`State`).

All instants are whole minutes from the plan's start, all temperatures °C. Offsets follow one rule:
``x_off[i]:x_off[i + 1]`` is the stretch of entity ``i`` in the arrays named behind it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

#: On plain lists the decoder needs nothing but Python; compiled, the same fields are numpy arrays.
Ints = list[int]
Floats = list[float]

#: Later than anything that can be planned.
NEVER = 1 << 30

BATCH, ROLLING, OVEN = 0, 1, 2

#: Fields of the state that no undoing touches.
SCRATCH_FIELDS = (
    "t",
    "bound",
    "short",
    "order",
    "rank",
    "out",
    "was",
    "weights",
    "dice",
    "tune",
    "told",
    "alone",
    "toll",
    "whim",
    "given",
    "given_c",
    "part",
)

#: Jobs times printers up to which minutes of machines have prices, and how many minutes have one.
PRICED, TOLL_MIN = 10_000, 30

#: Running figures of a plan: weighted late minutes, minutes of people, of preheats, and what the jobs
#: without a place weigh.
LATE, ATTENDED, HEATED, MISSING = range(4)

#: A first layer moved by more than this from the plan before counts as moved, minutes.
SHIFT_MIN = 30

#: Marks of a job in ``fixed``: free, not to be taken out, nothing before it either, never to be placed.
FREE, STAYS, CLOSED, BARRED = 0, 1, 2, 3


class Problem(NamedTuple):
    """A scenario as arrays; never changed after it is made."""

    # counts and capacities
    jobs: int
    printers: int
    materials: int
    machines: int
    printer_kinds: int
    horizon: int  # end of the last shift, 0 if that is past
    left_out_at: int  # when a job without a place counts as done
    machine_cap: int  # runs of one dryer or oven
    run_cap: int
    # the site
    ambient_c: float
    dry_storage: int
    start_min: int
    unload_min: int
    plate_min: int
    spool_swap_min: int
    nozzle_swap_min: int
    dryer_load_min: int
    oven_load_min: int
    least_stay: int  # the shortest that any job can hold a printer
    purge_min: Ints  # [from * materials + to]
    # people
    staffed_next: Ints  # first staffed minute at or after; horizon if none
    stretch_start: Ints  # of a staffed minute; the minute itself otherwise
    stretch_end: Ints
    # printers
    p_kind: Ints
    p_free: Ints
    p_heated: Ints
    p_unattended: Ints
    p_bed_heat: Ints
    p_now_c: Floats
    p_reach_c: Floats
    p_heat_tau: Floats
    p_cool_tau: Floats
    p_speed: Floats
    p_crowd: Floats  # print minutes asked of it, relative to the fleet's mean
    p_head_off: Ints
    p_down_off: Ints
    down_start: Ints
    down_end: Ints
    # heads: what was last mounted, -1 unknown
    h_dry_feed: Ints
    h_spool: Ints
    h_material: Ints
    h_nozzle: Ints
    # jobs
    j_release: Ints
    j_due: Ints
    j_weight: Floats
    j_print: Ints
    j_finish: Ints
    j_recipe: Ints
    j_feeds: Ints
    j_material: Ints  # [2 * job + feed]
    j_grams: Floats  # [2 * job + feed]
    j_anneal: Ints  # anneal program, -1 none
    j_fit: Ints  # fit set
    j_same_lot: Ints
    j_group: Ints  # jobs tied to one lot share a number; -1: free
    g_off: Ints  # [group]
    g_job: Ints
    j_keep: Ints  # printer of the plan that this one replaces, -1 none
    j_begin: Ints  # first layer in that plan, -1 none
    move_cost: float  # late hours that a move to another printer counts
    shift_cost: float  # and a first layer more than `SHIFT_MIN` away
    j_bound_off: Ints  # jobs that want this job's lot
    bound: Ints
    # recipes (the feeds' materials together) on kinds of printers: [recipe * printer_kinds + kind]
    r_soak: Ints  # [recipe]
    r_highest_c: Floats  # [recipe]
    k_set_c: Floats
    k_heated: Ints
    k_cool_min: Ints
    k_end_c: Floats
    # spools that would do: those of feed [2 * job + feed] from `cand_lo` to `cand_hi`, ascending
    cand_lo: Ints
    cand_hi: Ints
    cand: Ints
    # which printers fit, and how
    fit_off: Ints
    fit_printer: Ints
    fit_ways: Ints  # way set
    way_off: Ints
    way_head: Ints  # [2 * way + feed] head of the printer, 0 or 1
    way_nozzle: Ints  # [2 * way + feed] nozzle of that head
    # spools
    chain_off: Ints  # room for each spool's history
    s_material: Ints
    s_lot: Ints
    lot_off: Ints  # [lot]
    lot_spool: Ints  # its spools, ascending
    s_certs: Ints  # how many certificates it carries
    s_twin: Ints  # untouched spools with one number are interchangeable but for lot and grams
    s_grams: Floats
    s_from: Ints
    s_dried: Ints
    s_exposed: Ints
    s_needs_drying: Ints
    s_open: Ints
    s_runs_before: Ints
    s_dry_first: Ints  # drying class of its first run
    s_dry_next: Ints  # and of every later one
    # drying classes: runs that dry such a spool
    dry_off: Ints
    dry_to: Ints  # end of those in which new runs are looked for, `dry_off` of the next class if in all
    dry_machine: Ints
    dry_set_c: Floats
    dry_min: Ints  # whole run, warm-up included
    # dryers and ovens; one machine may be both
    b_kind: Ints
    b_slots: Ints
    b_oven_slots: Ints
    b_down_off: Ints
    b_down_start: Ints
    b_down_end: Ints
    # anneal programs
    an_temp_c: Floats
    an_min: Ints
    an_off: Ints
    an_machine: Ints


class State(NamedTuple):
    """A partial plan; every change has an exact inverse."""

    hands: Ints  # free hands by minute
    # printers' jobs in time order
    first: Ints
    last: Ints
    idle: Ints  # the longest gap before the last job
    # jobs: -1 printer while unplaced
    printer: Ints
    before: Ints
    after: Ints
    change: Ints
    change_end: Ints
    heat: Ints
    begin: Ints
    print_start: Ints
    print_end: Ints
    cool_end: Ints
    unload: Ints
    unload_end: Ints
    done: Ints
    fixed: Ints  # FREE, STAYS, CLOSED or BARRED
    end_c: Floats
    head: Ints  # [2 * job + feed] global head
    nozzle: Ints
    spool: Ints
    run: Ints  # [2 * job + feed] the run made for it, -1 none
    oven_run: Ints
    # spools
    left_g: Floats
    tail_exposed: Ints  # exposure at the end of its history, -1 wet
    tail_rest: Ints  # and that end
    chain_n: Ints
    chain_start: Ints  # [chain_off[spool] + k]
    chain_end: Ints
    chain_ref: Ints  # 2 * job + feed, or -1 - run
    # runs
    run_machine: Ints
    run_oven: Ints
    run_set_c: Floats
    run_start: Ints
    run_end: Ints
    run_n: Ints
    run_begun: Ints
    run_first: Ints  # a feed whose spool is dried in it, -1 none
    run_next: Ints  # [2 * job + feed] another feed of the same run, -1 none
    free_run: Ints  # [0] how many ids lie free, then the ids
    machine_n: Ints
    machine_run: Ints  # [machine * machine_cap + k], by start
    total: Floats  # running figures of the plan, see `place.count_job`
    # scratch, not part of the plan
    t: Ints
    bound: Floats  # by printer
    short: Ints  # spools worth a try
    order: Ints  # jobs to place, in this order
    rank: Floats  # what they are ordered by
    out: Ints  # jobs just taken out
    was: Ints  # the printer that a job was last taken from, -1 if from none
    weights: Floats  # how a choice is weighed
    dice: Ints  # state of the random numbers
    tune: Floats  # how the search works
    told: Floats  # what it found
    alone: Floats  # weighted late minutes that a job has even with the shop to itself
    toll: Floats  # [printer * toll_edges + k] what its minutes before k * TOLL_MIN cost, late hours
    whim: Floats  # [printer] what the job at hand takes it to cost for no reason, late hours
    given: Ints  # jobs to put back as a plan has them, see `again`
    given_c: Floats
    part: Ints  # [0] how many jobs the search looks at, then those; 0: at all
    log: Any  # the plain twin's journal
