import { useCallback, useEffect, useRef } from "react";

/**
 * @returns a function that runs `work` with its newest argument in the next animation frame, however often it is called
 * before; nothing runs after the component has gone.
 */
export function useInAnimationFrame<T>(work: (argument: T) => void): (argument: T) => void {
  const latest = useRef(work);
  latest.current = work;
  const waiting = useRef<{ request: number; argument: T } | undefined>(undefined);
  useEffect(
    () => () => {
      if (waiting.current) cancelAnimationFrame(waiting.current.request);
      waiting.current = undefined;
    },
    [],
  );
  return useCallback((argument: T) => {
    if (waiting.current) {
      waiting.current.argument = argument;
      return;
    }
    const request = requestAnimationFrame(() => {
      const due = waiting.current;
      waiting.current = undefined;
      if (due) latest.current(due.argument);
    });
    waiting.current = { request, argument };
  }, []);
}
