package rest_test

import (
	"os"
	"testing"

	"barrelbook/api/store/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }
