package api

import (
	"bytes"
	"net/http"
	"net/url"
	"time"

	"github.com/gin-gonic/gin"
	"rsc.io/qr"

	"cagework/api/pages"
	"cagework/domain"
)

const (
	mediaSVG  = "image/svg+xml"
	mediaPNG  = "image/png"
	mediaForm = "application/x-www-form-urlencoded"
)

// signInCodeBody is a code, given once.
type signInCodeBody struct {
	Code      string    `json:"code"`
	Address   string    `json:"address"`
	MemberID  domain.ID `json:"member_id"`
	ExpiresAt time.Time `json:"expires_at"`
}

// MakeSignInCode makes a code that opens a session of a member, and gives it as text, as a picture or as a page.
func (s *Server) MakeSignInCode(c *gin.Context) {
	media, err := accepted(c, mediaJSON, mediaSVG, mediaPNG, mediaHTML)
	if err != nil {
		fail(c, err)
		return
	}
	var fields domain.SignInCodeFields
	if c.ContentType() != mediaForm {
		if fields, err = decode[domain.SignInCodeFields](c); err != nil {
			fail(c, err)
			return
		}
	}
	a := actor(c)
	made, err := s.stores.SignInCodes.Make(c.Request.Context(), a, fields)
	if err != nil {
		fail(c, err)
		return
	}
	a.MemberID, a.Role = made.MemberID, ""
	s.noteSignIn(c, signInCodeMade, a)
	if err := s.writeCode(c, media, made); err != nil {
		fail(c, err)
	}
}

func (s *Server) writeCode(c *gin.Context, media string, made domain.SignInCode) error {
	c.Header("Cache-Control", "no-store")
	address := s.address(c)
	address.Path, address.RawQuery = signInPath, "code="+made.Code
	if media == mediaJSON {
		writeJSON(c, http.StatusCreated, signInCodeBody{made.Code, address.String(), made.MemberID, made.ExpiresAt})
		return nil
	}
	picture, err := qr.Encode(address.String(), qr.M)
	if err != nil {
		return err
	}
	var body bytes.Buffer
	switch media {
	case mediaPNG:
		c.Data(http.StatusCreated, media, picture.PNG())
		return nil
	case mediaSVG:
		err = pages.CodePicture(&body, pages.CodeView{Code: made.Code, Size: picture.Size, Black: picture.Black})
	default:
		err = pages.Code(&body, pages.CodeView{Code: made.Code, Size: picture.Size, Black: picture.Black})
	}
	switch {
	case err != nil:
		return err
	case media == mediaSVG:
		c.Data(http.StatusCreated, media, body.Bytes())
	default:
		writePage(c, http.StatusCreated, body.Bytes())
	}
	return nil
}

// address gives how browsers reach the service: as it is set, or else as this request came.
func (s *Server) address(c *gin.Context) url.URL {
	if s.cfg.PublicURL != nil {
		return url.URL{Scheme: s.cfg.PublicURL.Scheme, Host: s.cfg.PublicURL.Host}
	}
	scheme := "http"
	if tls, _ := s.overTLS(c); tls {
		scheme = "https"
	}
	return url.URL{Scheme: scheme, Host: c.Request.Host}
}
