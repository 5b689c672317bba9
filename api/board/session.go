package board

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"net/url"
	"strings"

	"barrelbook/api/oapi"
)

// cookieName holds the visitor's token. The page cannot read it, and no other
// site can make a browser send it.
const cookieName = "barrelbook-board"

// proof is what a form of our own page carries, so that one made elsewhere is
// known: it can only be made by who has the token.
func proof(token string) string {
	mac := hmac.New(sha256.New, []byte(token))
	mac.Write([]byte("board form"))
	return hex.EncodeToString(mac.Sum(nil))
}

// fromOurPage refuses a form that did not come from a page of this board.
func (v *visit) fromOurPage() error {
	site := v.Header.Get("Sec-Fetch-Site")
	origin, err := url.Parse(v.Header.Get("Origin"))
	foreign := site != "" && site != "same-origin" || err != nil || origin.Host != "" && origin.Host != v.Host
	if !foreign && v.ParseForm() == nil && hmac.Equal([]byte(v.PostForm.Get("proof")), []byte(proof(v.token))) {
		return nil
	}
	return &refused{status: http.StatusForbidden, title: "Not sent from this board", detail: "The form was not sent from a page of this board, or you were signed out in between. Open the page again and send it from there."}
}

func (b *Board) signInPage(v *visit) (answer, error) {
	return answer{template: "sign-in.html", title: "Sign in", data: signInData{To: ownPath(v.URL.Query().Get("to"))}}, nil
}

type signInData struct{ To, Wrong string }

// signIn keeps a token in a cookie once the service has taken it.
func (b *Board) signIn(v *visit, w http.ResponseWriter) (answer, error) {
	to := ownPath(v.PostForm.Get("to"))
	token := strings.TrimSpace(v.PostForm.Get("token"))
	v.token, v.service = token, b.service
	if _, err := read[oapi.Works](v.asker, "/v1/works"); err != nil || token == "" {
		v.token = ""
		return answer{template: "sign-in.html", title: "Sign in", status: http.StatusUnauthorized,
			data: signInData{To: to, Wrong: "The token was not taken: it is mistyped, has expired or was revoked. An admin can make another."}}, nil
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: token, Path: "/board/", HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: v.TLS != nil || b.options.BehindProxy})
	return answer{goTo: to}, nil
}

func (b *Board) signOut(_ *visit, w http.ResponseWriter) (answer, error) {
	clearCookie(w)
	return answer{goTo: "/board/sign-in"}, nil
}

func clearCookie(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/board/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
}

// ownPath keeps to pages of the board: a link must not lead a person who has
// just signed in to another site.
func ownPath(to string) string {
	if strings.HasPrefix(to, "/board/") && !strings.ContainsAny(to, "\\\r\n") {
		return to
	}
	return "/board/"
}
