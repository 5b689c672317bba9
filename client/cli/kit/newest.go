package kit

import (
	"context"
	"errors"

	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NoCampaign is said when a question needs a programme and none is loaded.
var NoCampaign = &Missing{errors.New("no campaign is loaded, and so there is nothing to ask about")}

// Missing is something that the books do not hold.
type Missing struct{ Err error }

func (e *Missing) Error() string { return e.Err.Error() }
func (e *Missing) Unwrap() error { return e.Err }

// CampaignOr is the campaign named, or the newest one.
func CampaignOr(ctx context.Context, c *conn.Conn, name string) (string, error) {
	if name != "" {
		return name, nil
	}
	one := int64(1)
	a, err := conn.Expect[oapi.CampaignPage](c.API.ListCampaigns(ctx, &oapi.ListCampaignsParams{Limit: &one}))
	if err != nil {
		return "", err
	}
	if len(a.Value.Items) == 0 {
		return "", Failure{Next: []string{Path("campaign load FILE")}}.Explain(NoCampaign)
	}
	return a.Value.Items[0].Name, nil
}
