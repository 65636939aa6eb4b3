// Package serve serves the page of tieup on the machine it runs on, and to no
// other. It turns an address into a state of the page, asks the same packages
// as the commands, and hands the answers to package page. It computes nothing.
//
// # What it guards against
//
// The server listens on the loopback interface. Any page that the user visits
// can send requests there, and any program on the machine, so:
//
//   - the Host of a request must be the server's own, so that no foreign name
//     that was made to lead to this machine reaches it;
//   - a request that says it comes from another origin is refused;
//   - addresses, uploads and what they unpack to have a greatest size, and a
//     client that is slow loses its connection;
//   - only a few answers are worked out at once, and none for a client that has
//     gone; what more is said of a road test than can be seen is refused;
//   - a content security policy allows only the page's own style, script and
//     pictures;
//   - it reads no file: a train file is uploaded by the user and kept in the
//     address.
package serve
