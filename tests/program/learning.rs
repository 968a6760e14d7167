//! A pattern of one's own: the whole library sounded, heard and learnt back, and the command from outside.

mod commanded;
mod round_trip;
