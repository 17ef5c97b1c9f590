"""The estimate: a rate card and the dents of a job in, lines and a range of totals out.

The modules in the order in which data passes:

- `card` (with `card_model`, `card_check`, `card_start`, `card_print`): the rate card;
- `choices`, `options`: what the values of a job may be, and what each dent may cost;
- `effort`, `refusals`: minutes of one dent, or why there are none;
- `panel`, `tally`: several dents on one panel, and one scenario added up;
- `ranges`, `unsettled`: the lowest and the highest scenario, and what hangs on each open value;
- `price` (with `dent_lines`, `job_lines`, `wording`): the estimate, made of `lines`;
- `explain`, `quotes`: read it;
- `observations`, `fitting`, `learning`, `proposed`: learn from finished jobs.
"""
