package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// input is where a person may be asked: a terminal at both ends. The zero value asks nobody.
type input struct {
	from *bufio.Reader
	asks bool
	// done is closed when the command is stopped from the keyboard: a question then waits no longer.
	done <-chan struct{}
}

// newInput looks whether standard input and the messages are a terminal.
func newInput(in, messages *os.File) input {
	return input{from: bufio.NewReader(in), asks: term.IsTerminal(int(in.Fd())) && term.IsTerminal(int(messages.Fd()))}
}

// errNoAnswer ends a command whose question got no answer: the input ended.
var errNoAnswer = errors.New("no answer; nothing was written")

// ask puts a question with what an empty answer stands for, and gives the answer.
func (c *console) ask(question, usual string) (string, error) {
	if err := c.flush(); err != nil {
		return "", err
	}
	if usual != "" {
		question += " [" + usual + "]"
	}
	fmt.Fprint(c.err, wrap(question+":", c.width, 2), " ")
	text, err := c.in.read()
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(c.err)
		return "", err
	}
	if err != nil && (!errors.Is(err, io.EOF) || text == "") {
		fmt.Fprintln(c.err)
		return "", errNoAnswer
	}
	if text = strings.TrimSpace(text); text == "" {
		return usual, nil
	}
	return text, nil
}

// read reads a line, or gives up when the command is stopped. Reading goes on in the background then; nobody takes what comes.
func (in *input) read() (string, error) {
	type answer struct {
		text string
		err  error
	}
	got := make(chan answer, 1)
	go func() {
		text, err := in.from.ReadString('\n')
		got <- answer{text, err}
	}()
	select {
	case a := <-got:
		return a.text, a.err
	case <-in.done:
		return "", context.Canceled
	}
}

// askUntil asks until take accepts the answer; what it refuses is told.
func (c *console) askUntil(question, usual string, take func(string) error) error {
	for range 5 {
		text, err := c.ask(question, usual)
		if err != nil {
			return err
		}
		if err = take(text); err == nil {
			return nil
		}
		fmt.Fprintln(c.err, wrap(err.Error(), c.width, 2))
	}
	return errors.New("five answers that cannot be used; nothing was written")
}

// confirm asks for yes or no; an empty answer is no.
func (c *console) confirm(question string) (bool, error) {
	text, err := c.ask(question+" [y/N]", "")
	if errors.Is(err, errNoAnswer) {
		return false, nil
	}
	switch strings.ToLower(text) {
	case "y", "yes":
		return true, err
	}
	return false, err
}
