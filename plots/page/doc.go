// Package page writes the page of tieup page, and the printable worksheet, as
// HTML. It computes no mechanics: a [View] holds answers of the packages that
// do, and what is drawn or told of them is drawn and told by the same writers
// as on the command line.
//
// The page works without its script, as forms and links, since its whole state
// is in the address (see [State]). The script only fetches the next state
// instead of loading it, takes files that are dropped on the page, and turns
// the gears of the [EndOn] view by the speeds that it was given.
//
// Everything the page needs is in [Assets]; there is no script or style in the
// HTML itself, so that a content security policy can forbid all others.
package page
