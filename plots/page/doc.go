// Package page writes the page of tieup page, and the printable worksheet, as
// HTML. It computes no mechanics: a [View] holds answers of the packages that
// do, and what is drawn or told of them is drawn and told by the same writers
// as on the command line.
//
// The page works without its script, as forms and links, since its whole state
// is in the address (see [State]). The script draws the pictures of a train once,
// from the figure of package stage; a change of state then fetches an [Update]: the
// words as parts of the page, and numbers for the pictures that are there. It takes
// files that are dropped, and turns what turns by the speeds that it was given.
//
// # The stage
//
// One screen, nothing to scroll: top, band (what the range does and why), stage
// (half-section, gears, lever with speeds), console (selector, faults, actions). The
// script's parts are in assets/stage: svg.js is the pen, labels.js finds room for
// words, section.js, gears.js and lever.js are the pictures, course.js a shift in time,
// clock.js what turns, stage.js shows scenes and frames, keys.js listens. The heights
// of band and console never depend on words.
//
// Everything the page needs is in [Assets]; there is no script or style in the
// HTML itself, so that a content security policy can forbid all others.
package page
