package rest

import "barrelbook/api/app/port"

// ContractRoles is who may do what, by operation, for the tests outside.
func ContractRoles() (map[string]port.Role, error) {
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	roles := map[string]port.Role{}
	for id, op := range c.byID {
		roles[id] = op.role
	}
	return roles, nil
}
