"""To-scale SVG pictures, made from geometry in metres. Colours are the page's; shapes carry class names only."""
