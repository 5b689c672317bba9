package port

import "time"

// Role is what a caller may do. Each role may do what those before it may.
type Role string

// The roles, least first.
const (
	Viewer   Role = "viewer"
	Grinder  Role = "grinder"
	Shift    Role = "shift"
	Engineer Role = "engineer"
	Admin    Role = "admin"
)

// Feeder is the role of a mill's computer: it stands beside the others and may do
// what the contract names for it alone.
const Feeder Role = "feeder"

// Roles are all of them.
func Roles() []Role { return []Role{Feeder, Viewer, Grinder, Shift, Engineer, Admin} }

// roleRank orders the roles.
var roleRank = map[Role]int{Viewer: 1, Grinder: 2, Shift: 3, Engineer: 4, Admin: 5}

// May says whether a caller of role r may do what needs role needed. An
// unknown role may nothing, and a feeder nothing that others may.
func (r Role) May(needed Role) bool { return roleRank[r] > 0 && roleRank[r] >= roleRank[needed] }

// Call is who asks and how: everything about a request that is not its body.
type Call struct {
	Actor     string
	Role      Role
	RequestID string
	Operation string // operationId of the contract
	// Key is the idempotency key, empty when none was sent; Fingerprint is a
	// digest of the body it came with.
	Key         string
	Fingerprint string
	DryRun      bool
	// IfVersion is the version the caller read, 0 when none was given.
	IfVersion int64
}

// Audit is the line that a call leaves.
func (c Call) Audit(at time.Time, what string) AuditRow {
	return AuditRow{At: at, By: c.Actor, Role: c.Role, Operation: c.Operation, What: what, RequestID: c.RequestID}
}
