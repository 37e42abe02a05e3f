"""The drawings of one door as plain SVG: lines on paper in the four pencils, no script, no chart library."""
