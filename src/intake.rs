//! (to be furnished)
