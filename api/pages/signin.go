package pages

import "io"

// SignInView is what the sign-in page shows: why the last try failed, or "".
type SignInView struct{ Error string }

// SignIn writes the page on which a token is exchanged for a session: a form that posts token to /sign-in.
func SignIn(w io.Writer, v SignInView) error { return draw(w, "signin.html", v) }
