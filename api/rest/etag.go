package rest

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strconv"
	"strings"
)

// etag is the strong ETag of a thing of which the version tells all: "7".
func etag(version int64) *string {
	tag := `"` + strconv.FormatInt(version, 10) + `"`
	return &tag
}

// viewTag is the strong ETag of a view that also shows what changes without a
// new version, such as the tonnes a mounted roll has borne: "7-" and a digest
// of the body. The version alone would answer 304 to a reader who has not seen
// the new figures. If-Match takes either form and looks at the version only.
func viewTag(version int64, body any) (*string, error) {
	text, err := json.Marshal(body)
	if err != nil {
		return nil, err
	}
	tag := textTag(version, text)
	return &tag, nil
}

// textTag is that of a view that is written already.
func textTag(version int64, body []byte) string {
	sum := sha256.Sum256(body)
	return `"` + strconv.FormatInt(version, 10) + "-" + hex.EncodeToString(sum[:6]) + `"`
}

// versionOf reads the version out of If-Match. One strong tag is taken: a weak
// one never matches here (RFC 9110, 13.1.1), and "*" would be a change
// without a condition.
func versionOf(ifMatch string) (int64, error) {
	text := strings.TrimSpace(ifMatch)
	if len(text) > 2 && text[0] == '"' && text[len(text)-1] == '"' {
		number, _, _ := strings.Cut(text[1:len(text)-1], "-")
		if v, err := strconv.ParseInt(number, 10, 64); err == nil && v > 0 && strings.Trim(number, "0123456789") == "" {
			return v, nil
		}
	}
	return 0, badField("If-Match", show(ifMatch)+` is not an ETag of this service, such as "7" with its quotes`)
}

// notChanged says whether If-None-Match names the tag. The comparison is weak
// (RFC 9110, 13.1.2), and a list may be given.
func notChanged(ifNoneMatch, tag *string) bool {
	if ifNoneMatch == nil || tag == nil {
		return false
	}
	for _, one := range strings.Split(*ifNoneMatch, ",") {
		one = untagged(strings.TrimPrefix(strings.TrimSpace(one), "W/"))
		if one == "*" || one == *tag {
			return true
		}
	}
	return false
}
