package feeds

import (
	"context"
	"log/slog"

	"github.com/labstack/echo/v4"
)

type requestKey struct{}

// inContext hands a request's id on to whatever logs on its behalf.
func inContext(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		id := c.Response().Header().Get(echo.HeaderXRequestID)
		c.SetRequest(r.WithContext(context.WithValue(r.Context(), requestKey{}, id)))
		return next(c)
	}
}

// requestLog adds the id of the request, where there is one, to every line.
type requestLog struct{ slog.Handler }

// Handle implements slog.Handler.
func (h requestLog) Handle(ctx context.Context, r slog.Record) error {
	if id, ok := ctx.Value(requestKey{}).(string); ok {
		r.AddAttrs(slog.String("id", id))
	}
	return h.Handler.Handle(ctx, r)
}

// WithAttrs implements slog.Handler.
func (h requestLog) WithAttrs(attrs []slog.Attr) slog.Handler {
	return requestLog{h.Handler.WithAttrs(attrs)}
}

// WithGroup implements slog.Handler.
func (h requestLog) WithGroup(name string) slog.Handler {
	return requestLog{h.Handler.WithGroup(name)}
}
