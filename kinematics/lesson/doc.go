// Package lesson makes exercises about a train and marks them: what does each
// range do under a fault, which faults explain a complaint, which test tells
// two suspects apart. Every answer is asked of the engine; none is written down
// anywhere.
package lesson
