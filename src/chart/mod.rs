//! Charts: results in, SVG out. The only room that knows plotters.
