"""The estimate: a rate card and the dents of a job in, lines and a range of totals out.

- `card`: the rate card: model, check, starting cards, print;
- `pricing`, in the order in which data passes: `possible_values`, `dent_options` (what the values of a job
  may be, and what each dent may cost); `minutes`, `refusals` (of one dent, or why there are none);
  `panel_shares`, `scenario` (several dents on one panel, one scenario added up); `extremes`, `unsettled`
  (the lowest and the highest scenario, and what hangs on each open value); `price` (the estimate);
- `estimate`: its lines; `explain`, `quotes`: read it;
- `learning`: learn from finished jobs.
"""
