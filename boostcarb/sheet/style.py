"""Colors and the style of the page. Every ink stands on white or on the paper tint with a contrast of 4.5 or more."""

from __future__ import annotations

PAPER = "#ffffff"
TINT = "#f3f1ec"
INK = "#1a1a1a"
QUIET = "#4d4d4d"
ALERT = "#8a1c0a"
LINK = "#174a7c"
RULE = "#8c8c8c"

INKS = {"ink": INK, "quiet": QUIET, "alert": ALERT, "link": LINK}
GROUNDS = {"paper": PAPER, "tint": TINT}

CSS = f"""
*{{box-sizing:border-box}}
html{{color-scheme:light;-webkit-text-size-adjust:100%;text-size-adjust:100%}}
body{{margin:0 auto;padding:1rem;max-width:52rem;background:{PAPER};color:{INK};
font:1rem/1.45 system-ui,"Liberation Sans",Arial,sans-serif;overflow-wrap:break-word}}
.skip{{position:absolute;left:-99rem}}
.skip:focus{{left:1rem;top:1rem;padding:.5rem;background:{PAPER};outline:3px solid {INK}}}
a{{color:{LINK}}}
h1{{font-size:1.6rem;line-height:1.2;margin:.2rem 0 .4rem}}
h2{{font-size:1.3rem;line-height:1.25;margin:2rem 0 .6rem;padding-bottom:.2rem;border-bottom:3px solid {INK}}}
h3{{font-size:1.08rem;margin:1.3rem 0 .4rem}}
p{{margin:.4rem 0}}
.label{{font-weight:600;margin-top:.9rem}}
.sub{{color:{QUIET}}}
.lead{{font-size:1.1rem;font-weight:600;border:2px solid {INK};padding:.6rem .8rem}}
.caution{{border-left:.5rem solid {ALERT};padding:.3rem .7rem;background:{TINT}}}
.caution b,.warn b,.mark{{color:{ALERT};font-weight:700}}
nav ul{{columns:15rem;padding-left:1.2rem;margin:.3rem 0}}
nav li{{padding:.2rem 0;break-inside:avoid}}
ul.list{{padding-left:1.3rem;margin:.4rem 0}}
ul.list>li{{margin:.45rem 0}}
.compact{{columns:17rem;column-gap:1.5rem}}
.compact>li{{break-inside:avoid}}
ul.boxes{{list-style:none;padding-left:0}}
ul.boxes>li{{padding-left:2.1rem;position:relative;margin:.7rem 0}}
ul.boxes input{{position:absolute;left:.1rem;top:.1rem;width:1.4rem;height:1.4rem;margin:0}}
.number{{font-weight:700}}
ul.lines{{list-style:none;padding-left:.2rem;margin:.15rem 0 0;color:{QUIET};font-size:.93rem}}
ul.lines>li{{margin:.1rem 0;padding-left:.9rem;text-indent:-.7rem}}
ul.lines>.warn{{color:{INK}}}
table{{border-collapse:collapse;width:100%;margin:.7rem 0;font-size:.93rem}}
caption{{text-align:left;font-weight:700;padding:.3rem 0}}
th,td{{border:1px solid {RULE};padding:.3rem .45rem;text-align:left;vertical-align:top}}
thead th{{background:{TINT};vertical-align:bottom}}
tbody th{{font-weight:600}}
.scroll{{overflow-x:auto;margin:.7rem 0}}
.wide td{{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}}
.wide{{font-size:.88rem;overflow-wrap:normal}}
.box{{display:inline-block;width:1.1rem;height:1.1rem;border:2px solid {INK}}}
.gallery{{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,23rem),1fr));gap:1rem;align-items:start}}
figure{{margin:.5rem 0;break-inside:avoid}}
figcaption{{font-weight:700;margin-bottom:.2rem}}
svg{{display:block;box-sizing:border-box;width:100%;max-width:30rem;height:auto;border:1px solid {RULE};
background:{PAPER}}}
.blanks{{margin:.6rem 0}}
.blank{{display:flex;gap:.5rem;margin:.7rem 0}}
.blank i{{flex:1;border-bottom:1px solid {INK};min-width:6rem}}
@media (max-width:40rem){{
body{{padding:.7rem}}
table.fits,table.fits tbody,table.fits tr,table.fits th,table.fits td{{display:block;width:100%}}
table.fits caption{{display:block}}
table.fits thead{{position:absolute;left:-99rem}}
table.fits tr{{border:1px solid {RULE};margin:.6rem 0}}
table.fits th,table.fits td{{border:0;padding:.25rem .5rem}}
table.fits tbody th{{background:{TINT}}}
table.fits td:empty{{display:none}}
table.fits td::before{{content:attr(data-label) ": ";font-weight:600;color:{QUIET}}}
.wide tbody th{{position:sticky;left:0;background:{PAPER};min-width:8.5rem;max-width:9rem;
box-shadow:0 1px 0 {RULE},1px 0 0 {RULE}}}
}}
@page{{margin:14mm 13mm}}
@media print{{
html{{font-size:9pt}}
body{{line-height:1.32}}
h2{{margin-top:1.4rem}}
h3{{margin-top:.9rem}}
ul.boxes>li{{margin:.4rem 0}}
ul.list>li{{margin:.25rem 0}}
body{{max-width:none;padding:0 2pt 0 0}}
.skip,nav{{display:none}}
a{{color:inherit;text-decoration:none}}
h2,h3,caption,figcaption,h2+p,h3+p,.label{{break-after:avoid}}
table{{font-size:8pt}}
li,tr,figure,.caution,.lead,.together{{break-inside:avoid}}
thead{{display:table-header-group}}
p{{break-inside:avoid;orphans:3;widows:3}}
.scroll{{overflow:visible}}
.wide{{font-size:7.6pt}}
.wide tbody th{{min-width:6rem}}
.wide th,.wide td{{padding:.15rem .3rem}}
.gallery{{display:block;columns:2;column-gap:6mm}}
.gallery.one{{columns:auto}}
.gallery.one svg{{max-width:12cm}}
.caution,thead th,table.fits tbody th{{background:none}}
ul.boxes input{{appearance:none;-webkit-appearance:none;border:1.5pt solid {INK};background:{PAPER};width:12pt;
height:12pt}}
}}
""".strip()
