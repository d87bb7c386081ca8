"""Drawings for pages and paper: plain numbers and words go in, marks on a picture come out. It knows no app.

What is drawn is a frozen record with ``draw(frame)``: a kind of picture a module. The geometry imports no Django;
`config.charts.rendering` alone turns a drawing into SVG.
"""
