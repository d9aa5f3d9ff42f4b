//! The report: results in, one self-contained HTML page out.
