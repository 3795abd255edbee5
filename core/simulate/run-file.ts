import type { Hdf5TreeDataset, Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";
import type { SceneCamera, SceneRun, SceneSample } from "./scene.ts";

export interface RunRecord {
  readonly camera: SceneCamera;
  readonly run: SceneRun;
  readonly sample: SceneSample | undefined;
  readonly runNumber: number;
  readonly startTime: string;
  readonly counts: Uint32Array;
  readonly monitorCounts: number;
}

/** A run as a NeXus file of the NXsas definition, with the centre in pixels. */
export function runFile(record: RunRecord): Hdf5TreeGroup {
  const { camera, run, sample, counts } = record;
  const size = [camera.height, camera.width];
  return group(
    { NX_class: "NXroot", default: "entry", creator: "Halation" },
    {
      entry: group(
        { NX_class: "NXentry", default: "data" },
        {
          definition: text("NXsas"),
          title: text(run.title),
          run_number: text(String(record.runNumber)),
          start_time: text(record.startTime),
          instrument: group(
            { NX_class: "NXinstrument" },
            {
              name: text(camera.name),
              source: group({ NX_class: "NXsource" }, { name: text(camera.source), probe: text("neutron") }),
              monochromator: group(
                { NX_class: "NXmonochromator" },
                {
                  wavelength: number(camera.wavelength_A, "angstrom"),
                  wavelength_spread: number(camera.wavelengthSpread),
                },
              ),
              collimator: group({ NX_class: "NXcollimator" }, { length: number(camera.collimation_m, "m") }),
              source_aperture: aperture(camera.sourceAperture_mm),
              sample_aperture: aperture(camera.sampleAperture_mm),
              ...(run.attenuation !== undefined && {
                attenuator: group({ NX_class: "NXattenuator" }, { attenuator_transmission: number(run.attenuation) }),
              }),
              detector: group(
                { NX_class: "NXdetector" },
                {
                  data: {
                    kind: "dataset",
                    data: counts,
                    shape: size,
                    deflate: 9,
                    attributes: { units: "counts", target: "/entry/instrument/detector/data" },
                  },
                  distance: number(camera.distance_m, "m"),
                  x_pixel_size: number(camera.pixelSize_mm[0], "mm"),
                  y_pixel_size: number(camera.pixelSize_mm[1], "mm"),
                  beam_center_x: number(camera.beamCentre_px[0], "pixel"),
                  beam_center_y: number(camera.beamCentre_px[1], "pixel"),
                  dead_time: number(camera.deadTime_s, "s"),
                  count_time: number(run.time_s, "s"),
                },
              ),
            },
          ),
          control: group(
            { NX_class: "NXmonitor" },
            {
              mode: text("timer"),
              preset: number(run.time_s, "s"),
              count_time: number(run.time_s, "s"),
              integral: number(record.monitorCounts, "counts"),
            },
          ),
          ...(sample !== undefined && {
            sample: group(
              { NX_class: "NXsample" },
              {
                name: text(sample.name),
                thickness: number(sample.thickness_mm, "mm"),
              },
            ),
          }),
          data: group(
            { NX_class: "NXdata", signal: "data", axes: ["y", "x"] },
            {
              data: { kind: "link", target: "/entry/instrument/detector/data" },
              // Axes without a unit: pixel numbers.
              x: { kind: "dataset", data: Int32Array.from({ length: camera.width }, (_, i) => i) },
              y: { kind: "dataset", data: Int32Array.from({ length: camera.height }, (_, i) => i) },
            },
          ),
        },
      ),
    },
  );
}

function aperture(diameter_mm: number): Hdf5TreeGroup {
  return group({ NX_class: "NXaperture" }, { shape: text("circle"), diameter: number(diameter_mm, "mm") });
}

function group(attributes: Hdf5TreeGroup["attributes"], children: Hdf5TreeGroup["children"]): Hdf5TreeGroup {
  return { kind: "group", ...(attributes !== undefined && { attributes }), children };
}

function text(value: string): Hdf5TreeDataset {
  return { kind: "dataset", data: value };
}

function number(value: number, units?: string): Hdf5TreeDataset {
  return {
    kind: "dataset",
    data: Float64Array.of(value),
    ...(units !== undefined && { attributes: { units } }),
  };
}
