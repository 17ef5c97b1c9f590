"""The estimate: a rate card and the dents of a job in, lines and a range of totals out.

Modules, in the order in which data passes: `card` (the rate card and its checks),
`effort` (minutes of one dent), `panel` (several dents on one panel), `ranges` (open
values), `price` (the estimate), then `explain`, `quotes` and `learning`, which read it.
"""
