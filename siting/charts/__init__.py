"""Charts of a site as SVG, drawn once for pages, print and dock: readable in grey, units on the axes."""
