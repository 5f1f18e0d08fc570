package pages

import "io"

// SignInView is what the sign-in page shows: why the last try failed, or ""; the code that its address brought, or ""; and the
// page to go on to, or "".
type SignInView struct{ Error, Code, Next string }

// SignIn writes the page on which a token or a code is exchanged for a session: forms that post to /sign-in.
func SignIn(w io.Writer, v SignInView) error { return draw(w, "signin.html", v) }
