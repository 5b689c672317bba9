package roll

import (
	"context"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ReceiveOptions is a receipt as typed.
type ReceiveOptions struct {
	Factory *kit.Factory
	kit.Recording

	Number, Role, Grade, Mill                                  string
	Stands                                                     []string
	Grooves                                                    []string
	Supplier, Certificate, Note, Received                      string
	Diameter, New, Barrel, Span, Neck, NeckRadius, Crown       string
	Scrap, Shell, Hardened, Stack, Fillet, DriveAngle, SpeedRg string
	Hardness                                                   kit.OptNumber
	Price                                                      kit.OptCount
	Ground                                                     bool
	Taper, Runout, Roundness                                   string
	Roughness                                                  kit.OptNumber
	Diameters, Tests                                           []string
	kit.Confirming
}

var receiveFlags = map[string]string{
	"number": "NUMBER", "confirmed": "--confirm", "role": "--role", "grade": "--grade", "mill": "--mill", "stands": "--stand",
	"supplier": "--supplier", "certificate": "--certificate", "note": "--note", "received_at": "--received",
	"diameter_mm": "--diameter", "new_diameter_mm": "--new", "barrel_length_mm": "--barrel", "bearing_span_mm": "--bearing-span",
	"neck_diameter_mm": "--neck", "neck_fillet_radius_mm": "--neck-radius", "crown_um": "--crown", "hardness_shore_c": "--hardness", "price": "--price",
	"scrap/nominal_mm": "--scrap", "scrap/shell_depth_mm": "--scrap-shell", "scrap/hardened_depth_mm": "--scrap-hardened",
	"scrap/stack_height_mm": "--scrap-stack", "scrap/neck_fillet_mm": "--scrap-fillet",
	"taper_um": "--taper", "runout_um": "--runout", "roundness_um": "--roundness", "roughness_um": "--roughness", "stations": "--diameters", "tests": "--test",
	"grooves": "--groove", "scrap/drive_angle_mm": "--scrap-drive-angle", "scrap/speed_range_mm": "--scrap-speed-range",
}

// NewCmdReceive opens a roll's book.
func NewCmdReceive(f *kit.Factory, runF func(context.Context, *ReceiveOptions) error) *cobra.Command {
	o := &ReceiveOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "receive NUMBER",
		Short: "Open a roll's book with its receipt",
		Long: `Open a roll's book with its receipt. A number is never used twice, not even
after the roll is scrapped, nor in another case; one that looks like another's,
as CW-11O like CW-110, is asked about. Every --scrap flag is a limit on diameter; the
tightest one ends the roll and is named wherever stock left is shown.`,
		Example: kit.Example(
			"barrelbook roll receive R1234 --role work --grade HSS-1 --mill HSM --stand F1 --stand F2 \\",
			"    --diameter 780.000 --barrel 2000 --scrap 690 --scrap-shell 695 --ground"),
		Args: kit.Args("NUMBER"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return receive(cmd.Context(), o)
		},
	}
	o.addReceiptTo(cmd)
	o.Confirming.AddTo(cmd, false)
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "grade", "mill", "diameter", "barrel", "scrap")
	return cmd
}

// addReceiptTo adds the flags of what a receipt says.
func (o *ReceiveOptions) addReceiptTo(cmd *cobra.Command) {
	fl := cmd.Flags()
	kit.Word(cmd, &o.Role, "role", "work", "what it is for", roles)
	fl.StringVar(&o.Grade, "grade", "", "its `GRADE`")
	fl.StringVar(&o.Mill, "mill", "", "the `MILL` it belongs to")
	fl.StringSliceVar(&o.Stands, "stand", nil, "a `STAND` it may serve, again for each; all of its mill when left out")
	fl.StringVar(&o.Diameter, "diameter", "", "measured diameter (`LENGTH`: 780.000, 30.71in)")
	fl.StringVar(&o.New, "new", "", "original diameter of a roll taken over used (`LENGTH`); the measured one when left out")
	fl.StringVar(&o.Barrel, "barrel", "", "barrel `LENGTH`")
	fl.StringVar(&o.Span, "bearing-span", "", "`LENGTH` between bearing centres")
	fl.StringVar(&o.Neck, "neck", "", "neck diameter (`LENGTH`)")
	fl.StringVar(&o.NeckRadius, "neck-radius", "", "radius of the fillet between barrel and neck (`LENGTH`)")
	fl.StringVar(&o.Crown, "crown", "", "crown on diameter (`SMALL`: 40, 40µm, 2thou)")
	fl.StringVar(&o.Taper, "taper", "", "taper over the barrel, on diameter (`SMALL`)")
	fl.StringVar(&o.Runout, "runout", "", "run-out (`SMALL`)")
	fl.StringVar(&o.Roundness, "roundness", "", "largest less smallest diameter of one section (`SMALL`)")
	fl.Var(&o.Roughness, "roughness", "roughness, µm Ra")
	fl.StringSliceVar(&o.Diameters, "diameters", nil, "diameters along the barrel, `PLACE:LENGTH` each with the place from the drive-side end; three give crown and taper")
	kit.TestFlag(cmd, &o.Tests)
	fl.StringVar(&o.Scrap, "scrap", "", "nominal scrap diameter (`LENGTH`)")
	fl.StringVar(&o.Shell, "scrap-shell", "", "diameter where the shell ends (`LENGTH`)")
	fl.StringVar(&o.Hardened, "scrap-hardened", "", "diameter where the hardened depth ends (`LENGTH`)")
	fl.StringVar(&o.Stack, "scrap-stack", "", "diameter below which the stack is too low (`LENGTH`)")
	fl.StringVar(&o.Fillet, "scrap-fillet", "", "diameter that the neck fillet allows (`LENGTH`)")
	fl.StringVar(&o.DriveAngle, "scrap-drive-angle", "", "diameter that the drive's angle allows (`LENGTH`)")
	fl.StringVar(&o.SpeedRg, "scrap-speed-range", "", "diameter that the speed range allows (`LENGTH`)")
	fl.Var(&o.Hardness, "hardness", "barrel hardness, Shore C")
	fl.BoolVar(&o.Ground, "ground", false, "it comes ground to profile and may be paired")
	fl.StringArrayVar(&o.Grooves, "groove", nil, "depth of a groove on radius and what it is (`LENGTH[:TITLE]`: 8, 0.3in:round 16), again for each in order")
	fl.StringVar(&o.Supplier, "supplier", "", "who made it")
	fl.StringVar(&o.Certificate, "certificate", "", "its certificate")
	fl.Var(&o.Price, "price", "its price, in the smallest currency unit")
	fl.StringVar(&o.Received, "received", "", "when it came (`TIME`: 2026-03-04 or 2026-03-04T14:05Z); now when left out")
	fl.StringVar(&o.Note, "note", "", "a remark")
	kit.CompleteFlag(o.Factory, cmd, "grade", kit.Grades)
	kit.CompleteFlag(o.Factory, cmd, "mill", kit.Mills)
	kit.CompleteFlag(o.Factory, cmd, "stand", kit.Stands)
}

// input is the receipt in the contract's terms.
func (o *ReceiveOptions) input() (oapi.RollReceipt, error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return oapi.RollReceipt{}, err
	}
	in := oapi.RollReceipt{
		Number: o.Number, Role: oapi.Role(o.Role), Grade: o.Grade, Mill: o.Mill, Stands: kit.OptList(o.Stands),
		Supplier: kit.OptText(o.Supplier), Certificate: kit.OptText(o.Certificate), Note: kit.OptText(o.Note),
		DiameterMm: e.Length("--diameter", o.Diameter), NewDiameterMm: e.OptLength("--new", o.New), BarrelLengthMm: e.Length("--barrel", o.Barrel),
		BearingSpanMm: e.OptLength("--bearing-span", o.Span), NeckDiameterMm: e.OptLength("--neck", o.Neck), NeckFilletRadiusMm: e.OptLength("--neck-radius", o.NeckRadius),
		CrownUm: e.OptSmall("--crown", o.Crown),
		Scrap: oapi.ScrapLimits{
			NominalMm: e.Length("--scrap", o.Scrap), ShellDepthMm: e.OptLength("--scrap-shell", o.Shell),
			HardenedDepthMm: e.OptLength("--scrap-hardened", o.Hardened), StackHeightMm: e.OptLength("--scrap-stack", o.Stack),
			NeckFilletMm: e.OptLength("--scrap-fillet", o.Fillet), DriveAngleMm: e.OptLength("--scrap-drive-angle", o.DriveAngle),
			SpeedRangeMm: e.OptLength("--scrap-speed-range", o.SpeedRg),
		},
		TaperUm: e.OptSmall("--taper", o.Taper), RunoutUm: e.OptSmall("--runout", o.Runout), RoundnessUm: e.OptSmall("--roundness", o.Roundness),
		RoughnessUm: o.Roughness.Value, Stations: e.Stations("--diameters", o.Diameters),
		HardnessShoreC: o.Hardness.Value, Price: o.Price.Value,
	}
	tests, err := e.Tests(o.Tests)
	if err != nil {
		return in, err
	}
	if len(tests) > 0 {
		in.Tests = &tests
	}
	if o.Ground {
		in.Ground = &o.Ground
	}
	in.Grooves = o.grooves(e)
	if err := e.Err(); err != nil {
		return in, err
	}
	if in.Confirmed, _, err = o.Answers(); err != nil {
		return in, err
	}
	in.ReceivedAt = o.Factory.Now().UTC().Truncate(time.Microsecond)
	if o.Received != "" {
		in.ReceivedAt, err = kit.ParseTime(o.Factory, "--received", o.Received)
	}
	return in, err
}

// grooves are numbered in the order in which they were typed.
func (o *ReceiveOptions) grooves(e *kit.Entry) *[]oapi.Groove {
	if len(o.Grooves) == 0 {
		return nil
	}
	var list []oapi.Groove
	for i, typed := range o.Grooves {
		depth, title, _ := strings.Cut(typed, ":")
		list = append(list, oapi.Groove{Number: int64(i + 1), DepthMm: e.Length("--groove", depth), Title: kit.OptText(title)})
	}
	return &list
}

func receive(ctx context.Context, o *ReceiveOptions) error {
	const what = "the roll was not received"
	in, err := o.input()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := kit.Settled(o.Factory, in.Confirmed, func(confirmed *[]oapi.Question) (conn.Answer[oapi.Roll], error) {
		in.Confirmed = confirmed
		return conn.Expect[oapi.Roll](c.API.ReceiveRoll(ctx, &oapi.ReceiveRollParams{DryRun: dry, IdempotencyKey: key}, in))
	})
	if err != nil {
		return kit.Failure{What: what, Flag: receiveFlags, Next: []string{kit.Path("roll receive --help")}}.Explain(err)
	}
	return shown(o.Factory, a, &o.Recording, "The book of "+o.Number+" is open.")
}
