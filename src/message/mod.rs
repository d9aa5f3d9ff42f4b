//! Messages about the input: what is wrong, where, and what to do.
