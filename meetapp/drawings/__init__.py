"""Drawings for the pages, made on the server: frozen facts in, frozen shapes out, and a template only writes them down.

`axis` and `labels` say where things stand, `text_width` how much room words take, `shapes` what there is to draw.
Lengths are in units of the drawing, which a page shows at about one pixel each. A drawing comes in two layouts, wide
and narrow, so that its words keep their size on a phone.
"""
