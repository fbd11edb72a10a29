package deliver

import (
	"context"
	"os"
	"sync"
	"testing"

	"obvert/study"
)

// demoNames are the demonstration lines.
var demoNames = []string{"flat-irrigation", "ridge", "town", "gravity", "twin"}

var solvedDemos sync.Map // by name: *study.Result

// solvedDemo is a demonstration line with its study, solved once.
func solvedDemo(t testing.TB, name string) *study.Result {
	t.Helper()
	if r, ok := solvedDemos.Load(name); ok {
		return r.(*study.Result)
	}
	src, faults := study.Load(os.DirFS("../demo/"+name), nil)
	if err := faults.Err(); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	r, err := study.Solve(context.Background(), src, study.Options{Version: "0.0.0"})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	solvedDemos.Store(name, r)
	return r
}
