package roll

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// CorrectOptions is a corrected receipt as typed: only what was wrong.
type CorrectOptions struct {
	Factory *kit.Factory
	kit.Revising
	Clear   []string
	receipt ReceiveOptions
	Reason  string
	given   func(flag string) bool
}

// NewCmdCorrect corrects the receipt of a roll.
func NewCmdCorrect(f *kit.Factory, runF func(context.Context, *CorrectOptions) error) *cobra.Command {
	o := &CorrectOptions{Factory: f}
	o.receipt.Factory = f
	cmd := &cobra.Command{
		Use:   "correct NUMBER",
		Short: "Correct what the receipt of a roll says",
		Long: `Correct what the receipt of a roll says. Give only what was wrong; the rest
stays; --clear takes away what was not said. What it changes and what follows, in
stock, fitness, tests owed and forecasts, is shown before you are asked. The wrong
receipt stays in the book with the one that took its place, and the reason. It is
for an engineer, as the scrap limits are in it. It is refused where what happened later contradicts it: a grind above
the new diameter, or a stand that the roll went into at the old one.`,
		Example: kit.Example(
			"barrelbook roll correct R1234 --diameter 780.500 --reason \"two digits swapped\"",
			"barrelbook roll correct R1234 --scrap-shell 695 --grade HSS-2 --reason \"certificate read again\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.receipt.Number, o.given = args[0], cmd.Flags().Changed
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return correct(cmd.Context(), o)
		},
	}
	o.receipt.addReceiptTo(cmd)
	// Nothing is taken for granted here: what is left out stays.
	cmd.Flags().Lookup("role").DefValue = ""
	cmd.Flags().Lookup("stand").Usage = "a `STAND` it may serve, again for each"
	cmd.Flags().Lookup("received").Usage = "when it came (`TIME`: 2026-03-04 or 2026-03-04T14:05Z)"
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	cmd.Flags().StringSliceVar(&o.Clear, "clear", nil, "what was not said, by its flag without the dashes (`WHAT`: neck, hardness, scrap-shell), again for each: it is as if nothing had been said")
	o.Revising.AddTo(cmd)
	o.receipt.Recording.AddTo(cmd, false)
	kit.Require(cmd, "reason")
	return cmd
}

// change is what was given, in the contract's terms. scrap are the limits as they
// are: those not named stay.
func (o *CorrectOptions) change(scrap oapi.ScrapLimits) (in oapi.ReceiptCorrection, err error) {
	r := &o.receipt
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	in = oapi.ReceiptCorrection{
		Grade: kit.OptText(r.Grade), Mill: kit.OptText(r.Mill), Stands: kit.OptList(r.Stands), Supplier: kit.OptText(r.Supplier), Certificate: kit.OptText(r.Certificate), Note: kit.OptText(r.Note),
		DiameterMm: e.OptLength("--diameter", r.Diameter), BarrelLengthMm: e.OptLength("--barrel", r.Barrel),
		BearingSpanMm: e.OptLength("--bearing-span", r.Span), NeckDiameterMm: e.OptLength("--neck", r.Neck), NeckFilletRadiusMm: e.OptLength("--neck-radius", r.NeckRadius),
		CrownUm: e.OptSmall("--crown", r.Crown), TaperUm: e.OptSmall("--taper", r.Taper), RunoutUm: e.OptSmall("--runout", r.Runout),
		RoundnessUm: e.OptSmall("--roundness", r.Roundness), RoughnessUm: r.Roughness.Value, Stations: e.Stations("--diameters", r.Diameters),
		HardnessShoreC: r.Hardness.Value, Price: r.Price.Value, Grooves: r.grooves(e),
	}
	tests, err := e.Tests(r.Tests)
	if err != nil {
		return in, err
	}
	if len(tests) > 0 {
		in.Tests = &tests
	}
	if o.given("role") {
		in.Role = kit.OptWord[oapi.Role](r.Role)
	}
	if o.given("ground") {
		in.Ground = &r.Ground
	}
	if mm := e.OptLength("--scrap", r.Scrap); mm != nil {
		scrap.NominalMm, in.Scrap = *mm, &scrap
	}
	clear := slices.Clone(o.Clear)
	for _, limit := range []struct {
		flag, typed string
		into        **float64
	}{
		{"--scrap-shell", r.Shell, &scrap.ShellDepthMm}, {"--scrap-hardened", r.Hardened, &scrap.HardenedDepthMm}, {"--scrap-stack", r.Stack, &scrap.StackHeightMm},
		{"--scrap-fillet", r.Fillet, &scrap.NeckFilletMm}, {"--scrap-drive-angle", r.DriveAngle, &scrap.DriveAngleMm}, {"--scrap-speed-range", r.SpeedRg, &scrap.SpeedRangeMm},
	} {
		if mm := e.OptLength(limit.flag, limit.typed); mm != nil {
			*limit.into, in.Scrap = mm, &scrap
		}
		if i := slices.Index(clear, strings.TrimPrefix(limit.flag, "--")); i >= 0 {
			*limit.into, in.Scrap, clear = nil, &scrap, slices.Delete(clear, i, i+1)
		}
	}
	if in.Clear, err = kit.Cleared(clear, receiveFlags, clearable); err != nil {
		return in, err
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	in.ReceivedAt, err = kit.OptTime(o.Factory, "--received", r.Received)
	if err == nil && in == (oapi.ReceiptCorrection{}) {
		err = kit.Usagef("say what was wrong in the receipt of %s, such as --diameter", r.Number)
	}
	return in, err
}

// clearable is what may be taken away beside the limits of scrap.
var clearable = []oapi.ReceiptCorrectionClear{oapi.ReceiptCorrectionClearStands, oapi.ReceiptCorrectionClearSupplier, oapi.ReceiptCorrectionClearCertificate, oapi.ReceiptCorrectionClearBearingSpanMm,
	oapi.ReceiptCorrectionClearNeckDiameterMm, oapi.ReceiptCorrectionClearNeckFilletRadiusMm, oapi.ReceiptCorrectionClearCrownUm, oapi.ReceiptCorrectionClearTaperUm, oapi.ReceiptCorrectionClearRunoutUm,
	oapi.ReceiptCorrectionClearRoundnessUm, oapi.ReceiptCorrectionClearRoughnessUm, oapi.ReceiptCorrectionClearStations, oapi.ReceiptCorrectionClearTests, oapi.ReceiptCorrectionClearHardnessShoreC,
	oapi.ReceiptCorrectionClearGrooves, oapi.ReceiptCorrectionClearPrice, oapi.ReceiptCorrectionClearNote}

var correctFlags = func() map[string]string {
	flags := map[string]string{"reason": "--reason", "receipt/clear": "--clear"}
	for field, flag := range receiveFlags {
		flags["receipt/"+field], flags[field] = flag, flag
	}
	return flags
}()

func correct(ctx context.Context, o *CorrectOptions) error {
	number := o.receipt.Number
	what := "the receipt of " + number + " was not corrected"
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	// The limits as they are, and the number of the entry that holds the receipt.
	now, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, number, nil))
	if err != nil {
		return failed(what, number, nil, err)
	}
	change, err := o.change(now.Value.Scrap)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	entry, err := receiptEntry(ctx, c, number)
	if err != nil {
		return failed(what, number, nil, err)
	}
	fail := func(err error) error {
		return kit.Failure{What: what, Flag: correctFlags, Next: []string{kit.Path("roll book %s --all", number)}}.Explain(err)
	}
	_, key := o.receipt.Params()
	a, done, err := kit.Revise(o.Factory, &o.receipt.Recording, o.Yes, "Correct the receipt of "+number+"?", func(dry bool) (conn.Answer[oapi.CorrectionAnswer], error) {
		return conn.Expect[oapi.CorrectionAnswer](c.API.CorrectEntry(ctx, number, &oapi.CorrectEntryParams{DryRun: kit.OptTrue(dry), IdempotencyKey: key}, oapi.CorrectionInput{Entry: entry, Reason: o.Reason, Receipt: &change}))
	}, func(f *kit.Factory, a oapi.CorrectionAnswer) error { return kit.PrintCorrection(f, correctFlags, a) })
	if err != nil {
		return fail(err)
	}
	if done {
		o.receipt.Noted(o.Factory, "The receipt of %s is corrected, by entry %d.", number, a.Value.Entry)
	} else {
		o.receipt.Noted(o.Factory, "")
	}
	return nil
}

// receiptEntry is the entry that the receipt stands in now: the first of the
// book, or the last of those that took its place. An entry tells what
// replaced it.
func receiptEntry(ctx context.Context, c *conn.Conn, number string) (int64, error) {
	entry := int64(1)
	paging := kit.Paging{Limit: 1000, All: true}
	err := kit.Pages(&paging, func(limit *int64, cursor *string) (kit.Page[oapi.Entry], error) {
		a, err := conn.Expect[oapi.EntryPage](c.API.ListEntries(ctx, number, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor}))
		return kit.Page[oapi.Entry]{Items: a.Value.Items, Next: a.Value.Next}, err
	}, func(page kit.Page[oapi.Entry]) error {
		for _, e := range page.Items {
			if e.Number == entry && e.ReplacedBy != nil {
				entry = *e.ReplacedBy
			}
		}
		return nil
	})
	return entry, err
}
