package serve

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"strconv"
	"time"

	"tieup/gearsets"
	"tieup/gearsets/problem"
	"tieup/gearsets/roadtest"
	"tieup/plots/page"
)

// Greatest sizes of what a request may bring.
const (
	mostHeader = 128 << 10 // an address with a packed file, and the rest
	mostQuery  = 96 << 10
	mostUpload = gearsets.MaxSize + 64<<10 // the file and its wrapping
)

// A Server answers the requests of the page.
type Server struct {
	hosts  []string // the names under which it is reached, with the port
	trains shelf
	busy   chan struct{} // holds one for each answer that is being worked out
	// foreign holds one for each file of others that is being read or answered about:
	// there is no telling how much work it is, and some room is left without it.
	foreign chan struct{}
	mux     *http.ServeMux
}

// begin waits until an answer about a state can be worked out, and says false if
// the context ends before. What was begun must end.
func (s *Server) begin(ctx context.Context, st page.State) (end func(), ok bool) {
	var held []chan struct{}
	end = func() {
		for _, slots := range held {
			<-slots
		}
	}
	slots := []chan struct{}{s.busy}
	if st.File != "" {
		slots = []chan struct{}{s.foreign, s.busy}
	}
	for _, c := range slots {
		if !enter(ctx, c) {
			end()
			return nil, false
		}
		held = append(held, c)
	}
	return end, true
}

// enter waits for a slot, and says false if the context ends before.
func enter(ctx context.Context, slots chan struct{}) bool {
	if ctx.Err() != nil {
		return false
	}
	select {
	case slots <- struct{}{}:
		return true
	case <-ctx.Done():
		return false
	}
}

// atOnce is how many answers are worked out at one time: page and drawings of one
// state, at least.
func atOnce() int { return max(4, 2*runtime.GOMAXPROCS(0)) }

// atOnceForeign leaves a processor to answers about the trains of the library.
func atOnceForeign() int { return max(1, runtime.GOMAXPROCS(0)-1) }

// New returns a server that is reached under the given hosts, "127.0.0.1:8080".
func New(hosts ...string) *Server {
	s := &Server{hosts: hosts, busy: make(chan struct{}, atOnce()), foreign: make(chan struct{}, atOnceForeign()),
		mux: http.NewServeMux()}
	s.trains.foreign = s.foreign
	s.mux.HandleFunc("GET /{$}", s.servePage)
	s.mux.HandleFunc("POST /file", s.serveUpload)
	s.mux.HandleFunc("GET /fit", s.serveFitForm)
	s.mux.HandleFunc("POST /fit", s.serveFit)
	s.mux.HandleFunc("GET /sheet.yaml", s.serveSheet)
	s.mux.HandleFunc("GET /drawing/{file}", s.serveDrawing)
	s.mux.Handle("GET /assets/", http.StripPrefix("/assets/", http.FileServerFS(page.Assets())))
	s.mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, http.StatusNotFound, "there is nothing at this address")
	})
	return s
}

// ServeHTTP guards every request and answers it.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	for name, value := range headers {
		h.Set(name, value)
	}
	if status, why := s.guard(r); why != "" {
		s.refuse(w, status, why)
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, mostUpload)
	s.mux.ServeHTTP(w, r)
}

// refuse answers with a plain sentence.
func (s *Server) refuse(w http.ResponseWriter, status int, why string) {
	http.Error(w, "tieup: "+why, status)
}

// servePage answers the page itself. An address that does not stand for its
// state in the one usual way leads on to the one that does, so that the same
// state has the same address.
func (s *Server) servePage(w http.ResponseWriter, r *http.Request) {
	q, err := url.ParseQuery(r.URL.RawQuery)
	if err != nil {
		s.show(w, r, http.StatusBadRequest, page.State{Pace: page.UsualPace}, nil,
			errors.New("the address is damaged: was the whole of it copied?"))
		return
	}
	st, err := page.ParseState(q)
	if err == nil {
		var changed page.State
		if changed, err = edited(st, q); err == nil {
			st = changed
		}
	}
	sub, wrong := s.look(r.Context(), st)
	if r.Context().Err() != nil {
		return
	}
	if err = errors.Join(err, wrong); err != nil {
		// Without what is wrong the rest of the state may still be shown.
		s.show(w, r, http.StatusBadRequest, st, sub, err)
		return
	}
	if link := sub.state.Link(); r.URL.RawQuery != "" && "/?"+r.URL.RawQuery != link || r.URL.RawQuery == "" &&
		link != "/" {
		http.Redirect(w, r, link, http.StatusSeeOther)
		return
	}
	s.show(w, r, http.StatusOK, st, sub, nil)
}

// serveUpload takes a train file, or a road-test sheet, and leads on to the state
// that holds it. A file that is refused leaves the state as it is, with what is
// wrong on top.
func (s *Server) serveUpload(w http.ResponseWriter, r *http.Request) {
	st, err := page.ParseState(r.URL.Query())
	if err != nil {
		s.refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	name, src, err := upload(r)
	var next page.State
	switch {
	case err != nil:
	case roadtest.IsSheet(src):
		next, err = s.takeSheet(r.Context(), st, name, src)
	default:
		next = page.State{Mode: st.Mode, Shade: st.Shade, Pace: st.Pace}
		if err = s.read(r.Context(), name, src); err == nil {
			err = Put(&next, name, src)
		}
	}
	if err == nil {
		var sub *request
		if sub, err = s.look(r.Context(), next); err == nil {
			http.Redirect(w, r, sub.state.Link(), http.StatusSeeOther)
			return
		}
	}
	sub, _ := s.look(r.Context(), st)
	s.show(w, r, http.StatusUnprocessableEntity, st, sub, err)
}

// read says what is wrong with a train file.
func (s *Server) read(ctx context.Context, name string, src []byte) error {
	if !enter(ctx, s.foreign) {
		return ctx.Err()
	}
	defer func() { <-s.foreign }()
	_, err := gearsets.Read(name, src)
	return err
}

// upload reads the file of a form, and its name.
func upload(r *http.Request) (name string, src []byte, err error) {
	refused := func(err error) error {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return fmt.Errorf("the file is larger than %d MiB, which no train file or sheet is", gearsets.MaxSize>>20)
		}
		return fmt.Errorf("no file came with the request: %w", err)
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return "", nil, refused(err)
	}
	for {
		part, err := parts.NextPart()
		if err != nil {
			return "", nil, refused(err)
		}
		if part.FormName() != "file" {
			continue
		}
		src, err := io.ReadAll(io.LimitReader(part, gearsets.MaxSize+1))
		if err != nil {
			return "", nil, refused(err)
		}
		return page.ShortName(problem.Plain(part.FileName())), src, nil
	}
}

// show answers the page of a state, with a problem on top if there is one. Where
// the client has gone, nothing more is worked out for it.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, st page.State, sub *request, wrong error) {
	if sub == nil {
		st.Train, st.File, st.FileName = "", "", ""
	}
	if sub != nil {
		st = sub.state
	}
	end, ok := s.begin(r.Context(), st)
	if !ok {
		return
	}
	defer end()
	v := s.view(r.Context(), st, sub, wrong)
	if v == nil {
		return
	}
	if v.Problem != "" && status == http.StatusOK {
		status = http.StatusBadRequest
	}
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Vary", "Accept")
	if err := answer(w, r, status, v); err != nil {
		// The client has gone, or a template is broken, which the tests would show.
		log.Printf("tieup page: %v", err)
	}
}

// answer writes the page of a view, or for a page that is there already what
// changes on it.
func answer(w http.ResponseWriter, r *http.Request, status int, v *page.View) error {
	if r.Header.Get("Accept") != updates {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(status)
		return page.Write(w, v)
	}
	u, err := page.NewUpdate(v, r.Header.Get("Figure"))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", updates)
	w.WriteHeader(status)
	return json.NewEncoder(w).Encode(u)
}

// updates is the media type in which the script of the page asks for the next state.
const updates = "application/json"

// Options are what a server is started with.
type Options struct {
	Port  int                  // 0 for a free one
	Near  bool                 // if the port is taken, the next free one will do
	Start page.State           // what is shown first
	Ready func(address string) // called when the server answers
}

// patience is how long a slow client is waited for.
type patience struct{ header, request, answer, idle time.Duration }

var usualPatience = patience{header: 5 * time.Second, request: 20 * time.Second, answer: time.Minute,
	idle: 2 * time.Minute}

// httpServer is the server under New with limits on what a client can hold up.
func httpServer(h http.Handler, p patience) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: p.header,
		ReadTimeout:       p.request,
		WriteTimeout:      p.answer,
		IdleTimeout:       p.idle,
		MaxHeaderBytes:    mostHeader,
		ErrorLog:          log.New(io.Discard, "", 0), // of what strangers send
	}
}

// UsualPort is where the page is served, so that a bookmark finds it again.
const UsualPort = 8733

// mostPorts is how many ports are tried when one is taken.
const mostPorts = 20

// listen takes a port of the loopback interface, near takes the next that is free.
func listen(port int, near bool) (net.Listener, error) {
	for k := 0; ; k++ {
		l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port+k)))
		if err == nil || !near || k == mostPorts {
			return l, err
		}
	}
}

// Run serves the page on the loopback interface until the context ends.
func Run(ctx context.Context, o Options) error {
	listener, err := listen(o.Port, o.Near)
	if err != nil {
		return fmt.Errorf("the page cannot be served: %w", err)
	}
	port := strconv.Itoa(listener.Addr().(*net.TCPAddr).Port)
	own := net.JoinHostPort("127.0.0.1", port)
	server := httpServer(New(own, net.JoinHostPort("localhost", port)), usualPatience)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	if o.Ready != nil {
		o.Ready("http://" + own + o.Start.Link())
	}
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		return server.Close()
	}
	return nil
}
