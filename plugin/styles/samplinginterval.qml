<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="1" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 enableorderby="0" forceraster="0" referencescale="-1" symbollevels="0" type="RuleRenderer">
  <rules key="{9911ede9-864c-570e-9565-c2ddc8439aa1}">
   <rule filter="&quot;int_rec_s&quot; &gt;= 30" key="{e0d29576-66b5-54ff-9843-5f1b360e242c}" label="30 s or longer will do" symbol="0"/>
   <rule filter="&quot;int_rec_s&quot; &gt;= 5 AND &quot;int_rec_s&quot; &lt; 30" key="{24c77fa4-8b58-5f69-8fb2-9a1f9b7e388f}" label="5 to 15 s" symbol="1"/>
   <rule filter="&quot;int_rec_s&quot; &gt;= 1 AND &quot;int_rec_s&quot; &lt; 5" key="{5da5480b-51c3-5da2-a8d7-879db1a023bb}" label="1 to 2 s" symbol="2"/>
   <rule filter="&quot;int_rec_s&quot; &lt; 1" key="{44e377e0-13a9-5139-b63c-8c1a5490397f}" label="shorter than 1 s" symbol="3"/>
   <rule filter="&quot;int_max_s&quot; IS NOT NULL AND &quot;int_rec_s&quot; IS NULL" key="{e0adb6ab-18ca-5c7b-bc1e-81eb18481b16}" label="no usual interval will do" symbol="4"/>
   <rule filter="&quot;int_max_s&quot; IS NULL" key="{f14450a3-5cb8-52dc-a563-8bb8ec775284}" label="no arcs, or not assessed" symbol="5"/>
  </rules>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,234,70,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="190,175,111,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="125,124,120,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="65,77,107,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.6"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="4" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="0,32,77,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="5" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,60"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
 </renderer-v2>
 <labeling type="simple">
  <settings calloutType="simple">
   <text-style allowHtml="0" blendMode="0" capitalization="0" fieldName="&quot;site&quot; || coalesce(&#x27;  &#x27; || &quot;int_rec_s&quot; || &#x27; s&#x27;, &#x27;&#x27;)" fontFamily="Sans Serif" fontItalic="0" fontKerning="1" fontLetterSpacing="0" fontSize="9" fontSizeMapUnitScale="3x:0,0,0,0,0,0" fontSizeUnit="Point" fontStrikeout="0" fontUnderline="0" fontWeight="50" fontWordSpacing="0" isExpression="1" legendString="Aa" multilineHeight="1" namedStyle="" previewBkgrdColor="255,255,255,255" textColor="20,26,34,255" textOpacity="1" textOrientation="horizontal" useSubstitutions="0">
    <families/>
    <text-buffer bufferBlendMode="0" bufferColor="255,255,255,225" bufferDraw="1" bufferJoinStyle="128" bufferNoFill="1" bufferOpacity="1" bufferSize="0.80000000000000004" bufferSizeMapUnitScale="3x:0,0,0,0,0,0" bufferSizeUnits="MM"/>
    <text-mask maskEnabled="0" maskJoinStyle="128" maskOpacity="1" maskSize="1.5" maskSizeMapUnitScale="3x:0,0,0,0,0,0" maskSizeUnits="MM" maskType="0" maskedSymbolLayers=""/>
    <background shapeBlendMode="0" shapeBorderColor="128,128,128,255" shapeBorderWidth="0" shapeBorderWidthMapUnitScale="3x:0,0,0,0,0,0" shapeBorderWidthUnit="MM" shapeDraw="0" shapeFillColor="255,255,255,255" shapeJoinStyle="64" shapeOffsetMapUnitScale="3x:0,0,0,0,0,0" shapeOffsetUnit="MM" shapeOffsetX="0" shapeOffsetY="0" shapeOpacity="1" shapeRadiiMapUnitScale="3x:0,0,0,0,0,0" shapeRadiiUnit="MM" shapeRadiiX="0" shapeRadiiY="0" shapeRotation="0" shapeRotationType="0" shapeSVGFile="" shapeSizeMapUnitScale="3x:0,0,0,0,0,0" shapeSizeType="0" shapeSizeUnit="MM" shapeSizeX="0" shapeSizeY="0" shapeType="0">
     <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="fillSymbol" type="fill">
      <layer class="SimpleFill" enabled="1" locked="0" pass="0">
       <Option type="Map">
        <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="color" type="QString" value="255,255,255,255"/>
        <Option name="joinstyle" type="QString" value="bevel"/>
        <Option name="offset" type="QString" value="0,0"/>
        <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="offset_unit" type="QString" value="MM"/>
        <Option name="outline_color" type="QString" value="128,128,128,255"/>
        <Option name="outline_style" type="QString" value="no"/>
        <Option name="outline_width" type="QString" value="0"/>
        <Option name="outline_width_unit" type="QString" value="MM"/>
        <Option name="style" type="QString" value="solid"/>
       </Option>
      </layer>
     </symbol>
    </background>
    <shadow shadowBlendMode="6" shadowColor="0,0,0,255" shadowDraw="0" shadowOffsetAngle="135" shadowOffsetDist="1" shadowOffsetGlobal="1" shadowOffsetMapUnitScale="3x:0,0,0,0,0,0" shadowOffsetUnit="MM" shadowOpacity="0.69999999999999996" shadowRadius="1.5" shadowRadiusAlphaOnly="0" shadowRadiusMapUnitScale="3x:0,0,0,0,0,0" shadowRadiusUnit="MM" shadowScale="100" shadowUnder="0"/>
    <substitutions/>
   </text-style>
   <text-format addDirectionSymbol="0" autoWrapLength="0" decimals="3" formatNumbers="0" leftDirectionSymbol="&lt;" multilineAlign="3" placeDirectionSymbol="0" plussign="0" reverseDirectionSymbol="0" rightDirectionSymbol="&gt;" useMaxLineLengthForAutoWrap="1" wrapChar=""/>
   <placement centroidInside="0" centroidWhole="0" dist="0.29999999999999999" distMapUnitScale="3x:0,0,0,0,0,0" distUnits="MM" fitInPolygonOnly="0" geometryGenerator="" geometryGeneratorEnabled="0" geometryGeneratorType="PointGeometry" labelOffsetMapUnitScale="3x:0,0,0,0,0,0" layerType="UnknownGeometry" lineAnchorClipping="0" lineAnchorPercent="0.5" lineAnchorType="0" maxCurvedCharAngleIn="25" maxCurvedCharAngleOut="-25" offsetType="1" offsetUnits="MM" overrunDistance="0" overrunDistanceMapUnitScale="3x:0,0,0,0,0,0" overrunDistanceUnit="MM" placement="6" placementFlags="10" polygonPlacementFlags="2" predefinedPositionOrder="TR,TL,BR,BL,R,L,TSR,BSR" preserveRotation="1" priority="5" quadOffset="4" repeatDistance="0" repeatDistanceMapUnitScale="3x:0,0,0,0,0,0" repeatDistanceUnits="MM" rotationAngle="0" rotationUnit="AngleDegrees" xOffset="0" yOffset="0"/>
   <rendering displayAll="0" drawLabels="1" fontLimitPixelSize="0" fontMaxPixelSize="10000" fontMinPixelSize="0" labelPerPart="0" limitNumLabels="0" maxNumLabels="2000" mergeLines="0" minFeatureSize="0" obstacle="1" obstacleFactor="1" obstacleType="1" scaleMax="0" scaleMin="0" scaleVisibility="0" unplacedVisibility="0" upsidedownLabels="0" zIndex="0"/>
  </settings>
 </labeling>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="height_m" index="1" name="Greatest height over the surface [m]"/>
  <alias field="int_max_s" index="2" name="Longest interval that resolves every arc [s]"/>
  <alias field="int_rec_s" index="3" name="Recommended interval [s]"/>
  <alias field="h_30s_m" index="4" name="Greatest height resolved at 30 s [m]"/>
  <alias field="h_15s_m" index="5" name="Greatest height resolved at 15 s [m]"/>
  <alias field="h_5s_m" index="6" name="Greatest height resolved at 5 s [m]"/>
  <alias field="h_1s_m" index="7" name="Greatest height resolved at 1 s [m]"/>
  <alias field="tide_err_m" index="8" name="Shift of single arcs by the tide, at most [m]"/>
 </aliases>
 <previewExpression>"site" || coalesce(', ' || "int_rec_s" || ' s', '')</previewExpression>
 <mapTip>&lt;b&gt;[% "site" %]&lt;/b&gt;[% coalesce(', ' || round("height_m", 1) || ' m over the lowest level', '') %]&lt;br&gt;[% CASE WHEN "int_max_s" IS NULL THEN 'no arcs, or not assessed' ELSE 'resolved when logged every ' || format_number("int_max_s", 1) || ' s or oftener, ' || coalesce('recommended ' || "int_rec_s" || ' s', 'no usual interval leaves a margin') END %]</mapTip>
 <layerGeometryType>0</layerGeometryType>
</qgis>
