"""Numbers → pictures, as SVG to stand in a page. One file for each picture; none knows what a site is."""
