// Package pages draws what people read in a browser or on paper: plain HTML, one style sheet inside it, no script
// and nothing fetched from elsewhere. It works nothing out; what it shows is in the summary that it is given.
package pages
