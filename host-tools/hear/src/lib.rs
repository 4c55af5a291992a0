//! Sound to tokens: front end, acoustic model, decoder.
