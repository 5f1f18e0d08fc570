// Package summary puts together what people read: the official line and the week of a goalie. Its types are the
// JSON of the contract: no member is ever left out, and a list is never null.
package summary
