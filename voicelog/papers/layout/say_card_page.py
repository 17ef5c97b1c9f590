"""The look of the say-card as a web page: one A4 page in three columns."""

from __future__ import annotations

from jinja2 import Environment, select_autoescape

PAGE = Environment(autoescape=select_autoescape(default=True), trim_blocks=True).from_string(
    """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<title>{{ card.title }}</title>
<style>
@page { size: A4; margin: 9mm; }
body { font: 7.8pt/1.22 "DejaVu Sans Condensed", Arial, sans-serif; color: #111; margin: 0; }
h1 { font-size: 13pt; margin: 0 0 2mm; border-bottom: 1.2pt solid #111; }
main { columns: 3; column-gap: 5mm; }
section { break-inside: avoid; margin: 0 0 1.6mm; }
h2 { font-size: 8.2pt; margin: 0; border-bottom: .5pt solid #777; }
p, ul { margin: .3mm 0 0; padding: 0; }
em { font-style: normal; color: #333; }
li { list-style: none; padding-left: 2.4mm; text-indent: -2.4mm; }
footer { margin-top: 2mm; border-top: .5pt solid #777; font-weight: bold; }
</style>
</head>
<body>
<h1>{{ card.title }}</h1>
<main>
{% for group in card.groups %}
<section>
<h2>{{ group.title }}</h2>
{% if group.examples %}<p><em>{{ group.examples }}</em></p>{% endif %}
{% if group.lines() %}<ul>
{% for line in group.lines() %}<li>{{ line }}</li>
{% endfor %}</ul>{% endif %}
</section>
{% endfor %}
</main>
<footer>{% for remark in card.remarks %}<p>{{ remark }}</p>{% endfor %}</footer>
</body>
</html>
"""
)
