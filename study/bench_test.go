package study

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"obvert/engine/grade"
	"obvert/engine/sealing"
)

func longSource(b *testing.B, km, points, valves int) Source {
	b.Helper()
	src, faults := Load(long(km, points, valves), longRack())
	if err := faults.Err(); err != nil {
		b.Fatal(err)
	}
	return src
}

// BenchmarkStudy100km is questions 1 to 6 in full on 100 km with 5,000 profile points, 200 valves and 6 cases.
func BenchmarkStudy100km(b *testing.B) {
	src := longSource(b, 100, 5000, 200)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Solve(context.Background(), src, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFirst100km is the same until every valve has been judged in every case.
func BenchmarkFirst100km(b *testing.B) {
	src := longSource(b, 100, 5000, 200)
	b.ReportAllocs()
	for b.Loop() {
		ctx, cancel := context.WithCancel(context.Background())
		_, err := Solve(ctx, src, Options{First: func(*sealing.Result) { cancel() }})
		if !errors.Is(err, context.Canceled) {
			b.Fatal(err)
		}
	}
}

// BenchmarkStudyLength shows how the cost grows with points and valves at one number of cases.
func BenchmarkStudyLength(b *testing.B) {
	for _, km := range []int{10, 100, 1000} {
		b.Run(fmt.Sprintf("%dkm", km), func(b *testing.B) {
			src := longSource(b, km, 50*km, 2*km)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Solve(context.Background(), src, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkDayTwin is 24 h in steps of 15 min on the demonstration line with two stations.
func BenchmarkDayTwin(b *testing.B) {
	src := demo(b, "twin")
	net, err := grade.NewNet(src.Line)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := grade.SolveDay(context.Background(), grade.DayInput{Net: net}); err != nil {
			b.Fatal(err)
		}
	}
}
