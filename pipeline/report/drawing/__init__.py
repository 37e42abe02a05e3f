"""How anything is drawn: pencils, lettering, the theme, from a chart to a picture."""
