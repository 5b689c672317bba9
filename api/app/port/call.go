package port

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

// roleRank orders the roles.
var roleRank = map[Role]int{Viewer: 1, Grinder: 2, Shift: 3, Engineer: 4, Admin: 5}

// May says whether a caller of role r may do what needs role needed. An
// unknown role may nothing.
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
