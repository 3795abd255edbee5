/** User units of the drawing; it is stretched to its place. */
const [WIDTH, HEIGHT] = [240, 34];
/** Sigmas from the middle to either edge, unless a point lies farther out. */
const LEAST_REACH = 3;

/** How far each point lies from the fit, in sigmas; the lines stand at one sigma. */
export function ResidualChart({ q, residuals }: { readonly q: Float64Array; readonly residuals: Float64Array }) {
  const [low, high] = [q[0] ?? 0, q.at(-1) ?? 1];
  let reach = LEAST_REACH;
  for (const value of residuals) reach = Math.max(reach, Math.abs(value));
  const across = (at: number) => 3 + ((WIDTH - 6) * (at - low)) / Math.max(high - low, Number.MIN_VALUE);
  const down = (sigmas: number) => HEIGHT / 2 - (sigmas / reach) * (HEIGHT / 2 - 3);
  return (
    <svg
      className="residual-chart"
      viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
      role="img"
      aria-label={`Residuals of ${q.length} points, up to ${reach.toFixed(1)} sigmas`}
    >
      {[-1, 0, 1].map((sigmas) => (
        <line
          key={sigmas}
          className={sigmas === 0 ? "residual-zero" : "residual-sigma"}
          x1={0}
          x2={WIDTH}
          y1={down(sigmas)}
          y2={down(sigmas)}
        />
      ))}
      {Array.from(q, (at, i) => (
        <circle key={at} className="residual-point" cx={across(at)} cy={down(residuals[i] ?? 0)} r={1.6} />
      ))}
    </svg>
  );
}
