package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"obvert/document"
	"obvert/quantity"
	"obvert/survey"
)

// readings writes what was taken from each file and what was left, and what the line is made of.
func (c *console) readings(all []survey.Reading, folder survey.Folder, told document.Faults) {
	for _, r := range all {
		c.line(c.paint(strong, r.File), "  ", r.Format)
		for _, s := range r.Took {
			c.labelled("", "took", s)
		}
		for _, t := range r.Tracks {
			text := trackText(&t)
			if len(r.Tracks) > 1 {
				text = quantity.Quote(t.Name) + ": " + text
			}
			c.labelled("", "found", text)
		}
		for _, s := range r.Left {
			c.labelled("", "left", s)
		}
		c.line()
	}
	c.line(c.paint(strong, folder.Line.Name))
	for _, s := range folder.Took {
		c.labelled("", "took", s)
	}
	for _, s := range folder.Left {
		c.labelled("", "left", s)
	}
	for _, s := range folder.Assumed {
		c.labelled(yellow, "assumed", s)
	}
	c.faults(told, true)
}

// trackText is a track in one sentence.
func trackText(t *survey.Track) string {
	text := count(len(t.Points), "point")
	if n := len(t.Points); n > 1 && t.HasChainage {
		text += ", " + quantity.FormatChainage(t.Points[0].Chainage) + " to " + quantity.FormatChainage(t.Points[n-1].Chainage)
	}
	if t.Chainages != "" {
		text += ", chainage " + t.Chainages
	}
	switch {
	case t.LevelKind != nil:
		text += ", levels of the " + t.LevelKind.String()
	default:
		text += ", of what the levels are is not said"
	}
	return text + "."
}

// importWritten lists what was written and what to do next.
func (c *console) importWritten(to string, folder survey.Folder, kept []string) {
	to = filepath.ToSlash(to)
	c.line()
	var names []string
	for _, f := range folder.Files {
		names = append(names, to+"/"+f.Name)
	}
	c.line(wrap("Written: "+list(names), c.width, 2))
	if len(kept) > 0 {
		c.line(wrap("What stood there is kept as "+list(kept)+".", c.width, 2))
	}
	c.line(wrap("Look over what was assumed in "+to+"/line.toml, then: obvert study "+shellWord(to)+" --out out", c.width, 2))
}

// shellWord is a path as a shell takes it.
func shellWord(path string) string {
	if strings.ContainsAny(path, " '\"$&()*;<>?[]`|\\!") {
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return path
}

// imported is what import prints for machines.
type imported struct {
	Files    []importedFile
	Line     string
	Profile  importedTrack
	Took     []string
	Left     []string
	Assumed  []string
	Warnings document.Faults
	Written  []string // files written; empty where nothing was
}

type importedFile struct {
	File   string
	Format string
	Tracks []importedTrack
	Pumps  int `unit:"1"`
	Pipes  int `unit:"1"`
	Valves int `unit:"1"`
	Other  int `unit:"1"`
	Took   []string
	Left   []string
}

type importedTrack struct {
	Name      string
	Points    int     `unit:"1"`
	From      float64 `unit:"m"` // first chainage
	To        float64 `unit:"m"` // last chainage
	Chainages string
	LevelKind string
	Noise     float64 `unit:"m"`
	Score     float64 `unit:"1"`
	Why       string
}

func newImportedTrack(t *survey.Track) importedTrack {
	x := importedTrack{Name: t.Name, Points: len(t.Points), Chainages: t.Chainages, Noise: t.Noise, Score: t.Score, Why: t.Why}
	if n := len(t.Points); n > 0 {
		x.From, x.To = t.Points[0].Chainage, t.Points[n-1].Chainage
	}
	if t.LevelKind != nil {
		x.LevelKind = fmt.Sprint(*t.LevelKind)
	}
	return x
}

func newImported(all []survey.Reading, folder survey.Folder, told document.Faults, to string, written bool) imported {
	x := imported{Line: folder.Line.Name, Profile: newImportedTrack(&folder.Track), Took: folder.Took, Left: folder.Left, Assumed: folder.Assumed, Warnings: told}
	for _, r := range all {
		f := importedFile{File: r.File, Format: r.Format, Pumps: len(r.Pumps), Pipes: len(r.Pipes), Valves: len(r.Valves), Other: len(r.Fittings), Took: r.Took, Left: r.Left}
		for i := range r.Tracks {
			f.Tracks = append(f.Tracks, newImportedTrack(&r.Tracks[i]))
		}
		x.Files = append(x.Files, f)
	}
	if written && to != "" {
		for _, f := range folder.Files {
			x.Written = append(x.Written, filepath.ToSlash(filepath.Join(to, f.Name)))
		}
	}
	return x
}
