package stand

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/domain/quantity"
)

// AddOptions is a stand as typed.
type AddOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name, Mill, Arrangement, Orientation string
	Order                                int64
	Reversing                            bool
	MaxForce, Bending                    string
	MinStack, MaxStack, MaxShim          string
	ReferenceWork, ReferenceBackup       string
	DriveBlock                           string
	MaxTorque, MinRPM, MaxRPM            kit.OptNumber
}

var addFlags = map[string]string{
	"name": "NAME", "mill": "--mill", "order": "--order", "arrangement": "--arrangement", "orientation": "--orientation", "reversing": "--reversing",
	"max_force_kn": "--max-force", "max_torque_knm": "--max-torque", "min_rpm": "--min-rpm", "max_rpm": "--max-rpm", "min_stack_mm": "--min-stack",
	"max_stack_mm": "--max-stack", "max_shim_mm": "--max-shim", "bending_force_kn": "--bending",
	"drive_block":                "--drive-block",
	"reference_work_diameter_mm": "--reference-work", "reference_backup_diameter_mm": "--reference-backup",
}

// NewCmdAdd adds a stand.
func NewCmdAdd(f *kit.Factory, runF func(context.Context, *AddOptions) error) *cobra.Command {
	o := &AddOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "add NAME",
		Short:   "Add a stand to a mill",
		Example: kit.Example("barrelbook stand add F3 --mill HSM --order 3 --arrangement four-high --max-force 30000kN --max-rpm 260"),
		Args:    kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return add(cmd.Context(), o)
		},
	}
	o.addTo(f, cmd)
	kit.Require(cmd, "mill", "order")
	return cmd
}

// addTo adds the flags that say what a stand is.
func (o *AddOptions) addTo(f *kit.Factory, cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&o.Mill, "mill", "", "the `MILL` it stands in")
	fl.Int64Var(&o.Order, "order", 0, "its place in the mill; the first in pass order is 1")
	kit.Word(cmd, &o.Arrangement, "arrangement", "four_high", "how its rolls are arranged", []string{"two_high", "four_high", "six_high"})
	kit.Word(cmd, &o.Orientation, "orientation", "", "how its roll axes lie", []string{"horizontal", "vertical"})
	fl.BoolVar(&o.Reversing, "reversing", false, "it rolls both ways")
	fl.StringVar(&o.MaxForce, "max-force", "", "greatest force (`FORCE`: 30000, 30MN, \"1000 long tonf\")")
	fl.Var(&o.MaxTorque, "max-torque", "greatest torque of the drive, both rolls together, kNm")
	fl.Var(&o.MinRPM, "min-rpm", "least turns a minute of the driven rolls")
	fl.Var(&o.MaxRPM, "max-rpm", "most turns a minute of the driven rolls")
	fl.StringVar(&o.MinStack, "min-stack", "", "least sum of the diameters of its rolls (`LENGTH`)")
	fl.StringVar(&o.MaxStack, "max-stack", "", "greatest sum of the diameters of its rolls (`LENGTH`)")
	fl.StringVar(&o.MaxShim, "max-shim", "", "thickest shims (`LENGTH`)")
	fl.StringVar(&o.Bending, "bending", "", "usual bending force per chock (`FORCE`)")
	fl.StringVar(&o.ReferenceWork, "reference-work", "", "design diameter of its work rolls (`LENGTH`)")
	fl.StringVar(&o.ReferenceBackup, "reference-backup", "", "design diameter of its backup rolls (`LENGTH`)")
	fl.StringVar(&o.DriveBlock, "drive-block", "", "the `BLOCK` of stands on one drive it belongs to")
	o.Recording.AddKeyTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
}

func (o *AddOptions) input() (in oapi.Stand, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	in = oapi.Stand{
		Name: o.Name, Mill: o.Mill, Order: o.Order, DriveBlock: kit.OptText(o.DriveBlock), Arrangement: oapi.StandArrangement(o.Arrangement),
		Orientation: kit.OptWord[oapi.StandOrientation](o.Orientation),
		MaxForceKn:  e.OptValue("--max-force", o.MaxForce, quantity.Force), BendingForceKn: e.OptValue("--bending", o.Bending, quantity.Force),
		MinStackMm: e.OptLength("--min-stack", o.MinStack), MaxStackMm: e.OptLength("--max-stack", o.MaxStack), MaxShimMm: e.OptLength("--max-shim", o.MaxShim),
		ReferenceWorkDiameterMm: e.OptLength("--reference-work", o.ReferenceWork), ReferenceBackupDiameterMm: e.OptLength("--reference-backup", o.ReferenceBackup),
		MaxTorqueKnm: o.MaxTorque.Value, MinRpm: o.MinRPM.Value, MaxRpm: o.MaxRPM.Value,
	}
	if o.Reversing {
		in.Reversing = &o.Reversing
	}
	return in, e.Err()
}

func add(ctx context.Context, o *AddOptions) error {
	const what = "the stand was not added"
	in, err := o.input()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Stand](c.API.CreateStand(ctx, &oapi.CreateStandParams{IdempotencyKey: o.KeyParam()}, in))
	if err != nil {
		return kit.Failure{What: what, Flag: addFlags, Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(s oapi.Stand) error { printStand(o.Factory.Term, u, s); return nil }); err != nil {
		return err
	}
	o.Noted(o.Factory, "Stand %s is added to %s.", o.Name, o.Mill)
	return nil
}
