//! Every field of the trip file once: name, unit, range, default, one sentence of help.
